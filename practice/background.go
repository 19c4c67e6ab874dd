package practice

import "context"

// mostQueued bounds the work that waits in the background (our judgement): beyond it
// work is asked for again when somebody looks again.
const mostQueued = 10000

// StartBackground lets what the list of clients needs, and nobody has looked at yet, be
// done beside it, one piece after another, until the context ends; without it the list
// waits. It is called before anybody looks. A piece that panics is told and left out,
// so that one document does not take the practice down.
func (p *Practice) StartBackground(ctx context.Context, failed func(problem any)) {
	p.queue = make(chan func(), mostQueued)
	do := func(work func()) {
		defer func() {
			if problem := recover(); problem != nil {
				failed(problem)
			}
		}()
		work()
	}
	go func() {
		for {
			select {
			case <-ctx.Done():
				return
			case work := <-p.queue:
				do(work)
			}
		}
	}()
}

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
