package web

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"kitwright/internal/say"
)

// jobs runs what takes long: at most one job a kit, and one of all at a time,
// because each uses all cores. A new job of a kit ends the one before it. A
// job belongs to a page: when the page is closed, its jobs end.
type jobs struct {
	tell func(name string, data any)
	turn chan struct{}
	all  sync.WaitGroup

	mu   sync.Mutex
	kits map[string]*job
	over bool
}

type job struct {
	kit, page, kind string
	cancel          context.CancelFunc
	search          *say.Stopper
	began, stopped  bool
	after           chan struct{} // closed when it is over
}

// progress is what a page is told of a job.
type progress struct {
	Kit   string `json:"kit"`
	Kind  string `json:"kind"`
	State string `json:"state"` // waiting, working, done, stopped, failed
	Stage string `json:"stage,omitempty"`
	Done  int    `json:"done,omitempty"`
	Total int    `json:"total,omitempty"`
	Error *fault `json:"error,omitempty"`
}

func newJobs(tell func(string, any)) *jobs {
	return &jobs{tell: tell, turn: make(chan struct{}, 1), kits: map[string]*job{}}
}

// start begins a job and returns at once.
func (j *jobs) start(kit, page, kind string, work func(context.Context) error) {
	ctx, cancel := context.WithCancel(context.Background())
	ctx, search := say.WithStopper(ctx)
	n := &job{kit: kit, page: page, kind: kind, cancel: cancel, search: search, after: make(chan struct{})}
	j.mu.Lock()
	if j.over {
		j.mu.Unlock()
		cancel()
		return
	}
	before := j.kits[kit]
	if before != nil {
		before.cancel()
	}
	j.kits[kit] = n
	j.all.Add(1)
	j.mu.Unlock()
	j.say(n, progress{State: "waiting"})
	go func() {
		defer j.all.Done()
		defer close(n.after)
		defer cancel()
		err := j.run(ctx, n, before, work)
		j.mu.Lock()
		newest := j.kits[kit] == n
		if newest {
			delete(j.kits, kit)
		}
		stopped := n.stopped
		j.mu.Unlock()
		switch {
		case !newest: // the page has been told of the next one
		case errors.Is(err, context.Canceled):
			j.say(n, progress{State: "stopped"})
		case err != nil:
			j.say(n, progress{State: "failed", Error: faultOf(err)})
		case stopped:
			j.say(n, progress{State: "stopped"})
		default:
			j.say(n, progress{State: "done"})
		}
	}()
}

func (j *jobs) say(n *job, p progress) {
	p.Kit, p.Kind = n.kit, n.kind
	j.tell("job", p)
}

// run waits for the job's turn and does its work.
func (j *jobs) run(ctx context.Context, n, before *job, work func(context.Context) error) (err error) {
	if before != nil {
		<-before.after // it was told to end; two must not write one folder
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case j.turn <- struct{}{}:
	}
	defer func() { <-j.turn }()
	if err := ctx.Err(); err != nil {
		return err
	}
	defer func() {
		if p := recover(); p != nil {
			err = say.Failed("try it again; if it happens again, the command line may say more", "something in kitwright failed: %v", fmt.Sprint(p))
		}
	}()
	j.mu.Lock()
	n.began = true
	j.mu.Unlock()
	return work(say.WithProgress(ctx, func(stage string, done, total int) {
		j.say(n, progress{State: "working", Stage: stage, Done: done, Total: total})
	}))
}

// stop ends the search of a kit's job and keeps the best found; a job without
// a search, or one that has not begun, ends altogether.
func (j *jobs) stop(kit string) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if n := j.kits[kit]; n != nil {
		n.stopped = true
		if !n.began || !n.search.Stop() {
			n.cancel()
		}
	}
}

// cancel ends the jobs for which it is asked, and keeps nothing.
func (j *jobs) cancel(which func(kit, page string) bool) {
	j.mu.Lock()
	var ends []*job
	for _, n := range j.kits {
		if which(n.kit, n.page) {
			n.cancel()
			ends = append(ends, n)
		}
	}
	j.mu.Unlock()
	for _, n := range ends {
		<-n.after
	}
}

// of returns the kind of job that is under way for a kit, or "".
func (j *jobs) of(kit string) string {
	j.mu.Lock()
	defer j.mu.Unlock()
	if n := j.kits[kit]; n != nil {
		return n.kind
	}
	return ""
}

// close ends all jobs and waits for them.
func (j *jobs) close() {
	j.mu.Lock()
	j.over = true
	for _, n := range j.kits {
		n.cancel()
	}
	j.mu.Unlock()
	j.all.Wait()
}
