package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"
)

// Browsers hold six connections to a server, shared by all tabs; a stream
// takes one for good. So a tab has one stream for everything, and at most four
// tabs have one.
const (
	mostStreams = 4
	beat        = 15 * time.Second
)

// event is what a page is told: a name and a value for its script.
type event struct {
	name string
	data any
}

// hub tells the pages what happens.
type hub struct {
	mu      sync.Mutex
	streams []*stream              // the oldest first
	gone    map[string]*time.Timer // pages whose stream ended
	left    func(page string)      // called when one has been gone for a while
	grace   time.Duration          // in which a page that is loaded again keeps its jobs
	over    bool
}

type stream struct {
	page string
	out  chan event
	end  context.CancelFunc
}

func newHub(left func(page string)) *hub {
	return &hub{gone: map[string]*time.Timer{}, left: left, grace: 3 * time.Second}
}

// tell tells every page. A page that does not keep up is told to look again.
func (h *hub) tell(name string, data any) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, s := range h.streams {
		s.put(event{name, data})
	}
}

func (s *stream) put(e event) {
	select {
	case s.out <- e:
	default:
		select { // room for the one that matters
		case <-s.out:
		default:
		}
		select {
		case s.out <- event{"again", nil}:
		default:
		}
	}
}

// join adds a page's stream. A page has one: its earlier one ends, and where
// there are too many, the oldest is told that its page has moved.
func (h *hub) join(page string, end context.CancelFunc) *stream {
	h.mu.Lock()
	defer h.mu.Unlock()
	s := &stream{page: page, out: make(chan event, 64), end: end}
	for _, old := range h.streams {
		if old.page == page {
			old.end()
		}
	}
	h.streams = append(h.streams, s)
	if t := h.gone[page]; t != nil {
		t.Stop()
		delete(h.gone, page)
	}
	live := 0
	for i := len(h.streams) - 1; i >= 0; i-- {
		if h.streams[i].page == page && h.streams[i] != s {
			continue
		}
		if live++; live > mostStreams {
			h.streams[i].put(event{"moved", nil})
		}
	}
	return s
}

// leave removes a stream. Its page's jobs end with it, unless it comes back.
func (h *hub) leave(s *stream) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for i, t := range h.streams {
		if t == s {
			h.streams = append(h.streams[:i:i], h.streams[i+1:]...)
			break
		}
	}
	for _, t := range h.streams {
		if t.page == s.page {
			return
		}
	}
	if h.over {
		return
	}
	if t := h.gone[s.page]; t != nil {
		t.Stop()
	}
	h.gone[s.page] = time.AfterFunc(h.grace, func() {
		h.mu.Lock()
		_, still := h.gone[s.page]
		delete(h.gone, s.page)
		h.mu.Unlock()
		if still {
			h.left(s.page)
		}
	})
}

// close ends all streams.
func (h *hub) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.over = true
	for _, s := range h.streams {
		s.end()
	}
	for _, t := range h.gone {
		t.Stop()
	}
}

// serve is the stream of one page.
func (h *hub) serve(w http.ResponseWriter, r *http.Request, page string) {
	ctx, end := context.WithCancel(r.Context())
	defer end()
	out := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	s := h.join(page, end)
	defer h.leave(s)
	n := 0
	send := func(e event) bool {
		data, err := json.Marshal(e.data)
		if err != nil {
			return false
		}
		n++
		_ = out.SetWriteDeadline(time.Now().Add(10 * time.Second)) // a recorder in tests has none
		if _, err = fmt.Fprintf(w, "id: %d\nevent: %s\ndata: %s\n\n", n, e.name, data); err != nil {
			return false
		}
		return out.Flush() == nil
	}
	if !send(event{"hello", nil}) {
		return
	}
	tick := time.NewTicker(beat)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			_ = out.SetWriteDeadline(time.Now().Add(10 * time.Second))
			if _, err := fmt.Fprint(w, ": here\n\n"); err != nil || out.Flush() != nil {
				return
			}
		case e := <-s.out:
			if !send(e) || e.name == "moved" {
				return
			}
		}
	}
}
