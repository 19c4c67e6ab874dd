package practice

import "context"

// mostQueued bounds the work that waits in the background (our judgement): beyond it
// work is asked for again when somebody looks again.
const mostQueued = 10000

// Background does what the list of clients needs and nobody has looked at yet, one
// piece after another, until the context ends. Without it the list waits for it.
func (p *Practice) Background(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case work := <-p.queue:
			work()
		}
	}
}

// StartBackground gives the practice a background; Background must then run.
func (p *Practice) StartBackground() { p.queue = make(chan func(), mostQueued) }

// later puts work into the background, once, and says whether there is one.
func (p *Practice) later(name string, work func()) bool {
	if p.queue == nil {
		return false
	}
	if _, waits := p.queued.LoadOrStore(name, true); waits {
		return true
	}
	select {
	case p.queue <- func() { defer p.queued.Delete(name); work() }:
	default:
		p.queued.Delete(name)
	}
	return true
}
