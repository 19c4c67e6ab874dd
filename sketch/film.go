package sketch

import (
	"cmp"

	"corbel/figure"
)

// Film draws every posture of a figure by itself, without ghost and arrow, all in one
// frame and from one view, so that they can be shown one after another.
func (f *Figure) Film(o Options) []*figure.Drawing {
	o.View, o.Size = cmp.Or(o.View, f.View()), cmp.Or(o.Size, fullSize)
	var canvases []*canvas
	frame := nowhere
	for i := range f.poses {
		c := &canvas{camera: look(o.View, f.Left), tone: colours, o: o}
		if o.Grey {
			c.tone = greys
		}
		c.line = max(leastOutline, outline*min(1, o.Size/fullSize))
		shapes := c.shapes(f.scenes[i])
		c.ground(f, shapes)
		c.paint(painters(shapes), f.poses[i])
		frame = c.widened(frame)
		canvases = append(canvases, c)
	}
	var out []*figure.Drawing
	for _, c := range canvases {
		out = append(out, c.fitInto(f.Exercise.Name.En, frame))
	}
	return out
}
