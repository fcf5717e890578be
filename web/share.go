package web

import (
	"fmt"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	qr "github.com/piglig/go-qr"

	"kitwright/internal/say"
)

// shares are kits that are shown to a tablet beside the canvas: a listener of
// its own for the placing of one kit, and nothing else of the table. It is
// plain HTTP on her network: whoever listens there can see the chart and tick
// drills, which she is told before it begins.
type shares struct {
	mu   sync.Mutex
	open map[string]*share // by kit
}

type share struct {
	table  *Table
	e      *entry
	guard  *guard
	server *http.Server
	addr   string

	mu    sync.Mutex
	used  bool // the key opens the door once
	wrong int  // keys that were none
}

// mostWrong keys end a sharing: somebody guesses.
const mostWrong = 20

func (t *Table) routesOfSharing() {
	t.api("GET /share", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		t.shares.mu.Lock()
		s := t.shares.open[e.id]
		t.shares.mu.Unlock()
		out := map[string]any{"may": t.cfg.Share}
		if s != nil {
			out["address"], out["code"] = s.address(), code(s.address())
		}
		answer(w, http.StatusOK, out)
		return nil
	})
	t.api("POST /share", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		if !t.cfg.Share {
			return faulty(http.StatusForbidden, "", "noshare")
		}
		if _, err := e.need(); err != nil {
			return err
		}
		s, err := t.share(e)
		if err != nil {
			return err
		}
		answer(w, http.StatusOK, map[string]any{"may": true, "address": s.address(), "code": code(s.address())})
		return nil
	})
	t.api("POST /unshare", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		t.unshare(e.id)
		answer(w, http.StatusOK, map[string]any{"may": t.cfg.Share})
		return nil
	})
}

// address is what the tablet opens: the key lies in the fragment, which no
// browser sends along.
func (s *share) address() string { return "http://" + s.addr + "/#" + s.guard.key }

// code is the address as a QR code: a path of squares of one unit.
func code(address string) map[string]any {
	c, err := qr.EncodeText(address, qr.Medium)
	if err != nil {
		return nil // too long for any code, which no address of ours is
	}
	var b strings.Builder
	n := c.Size()
	for y := range n {
		for x := range n {
			if c.Module(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x, y)
			}
		}
	}
	return map[string]any{"size": n, "path": b.String()}
}

// ownAddress is this machine's address on a network of its own.
func ownAddress() (string, error) {
	all, err := net.InterfaceAddrs()
	if err == nil {
		for _, a := range all {
			if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && n.IP.IsPrivate() {
				return n.IP.String(), nil
			}
		}
	}
	return "", say.Failed("connect this machine and the tablet to the same network", "this machine is on no network of its own")
}

// share opens the listener, or returns the one that is open with a new key.
func (t *Table) share(e *entry) (*share, error) {
	t.unshare(e.id)
	host := t.cfg.ShareAt
	if host == "" {
		var err error
		if host, err = ownAddress(); err != nil {
			return nil, err
		}
	}
	at, err := net.Listen("tcp4", net.JoinHostPort(host, "0"))
	if err != nil {
		return nil, say.Failed("look at the network and the firewall of this machine", "no port can be opened for the tablet: %w", err)
	}
	g := newGuard(at.Addr(), random(16))
	g.hosts = []string{at.Addr().String()}
	s := &share{table: t, e: e, guard: g, addr: at.Addr().String()}
	s.server = &http.Server{Handler: s.routes(), ReadHeaderTimeout: 10 * time.Second, IdleTimeout: time.Minute, MaxHeaderBytes: 1 << 16}
	go s.server.Serve(at) // until it is closed
	t.shares.mu.Lock()
	defer t.shares.mu.Unlock()
	if t.shares.open == nil {
		t.shares.open = map[string]*share{}
	}
	t.shares.open[e.id] = s
	return s, nil
}

// unshare closes the listener of a kit; "" closes all.
func (t *Table) unshare(kit string) {
	t.shares.mu.Lock()
	defer t.shares.mu.Unlock()
	for id, s := range t.shares.open {
		if kit == "" || kit == id {
			_ = s.server.Close() // nothing is under way that is not whole on the disk
			delete(t.shares.open, id)
		}
	}
}

// routes are all that a tablet can ask: the page, its files, and the placing
// of the one kit.
func (s *share) routes() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { s.table.page(w, r, "share", nil) })
	mux.HandleFunc("GET /assets/{file}", s.table.asset)
	mux.HandleFunc("POST /enter", s.enter)
	for route, do := range map[string]func(http.ResponseWriter, *http.Request, *entry) error{
		"GET /placing": s.table.placing, "GET /placing/{section}": s.table.section, "GET /cells": s.table.cells, "POST /tick": s.table.tick,
	} {
		mux.HandleFunc(route, func(w http.ResponseWriter, r *http.Request) {
			err := error(faulty(http.StatusForbidden, "share", "shareover"))
			if c, cerr := r.Cookie("kw" + s.guard.port); cerr == nil && same(c.Value, s.guard.cookie) &&
				(r.Method == http.MethodGet || s.guard.pageOf(r.Header.Get(tokenHeader)) != "") {
				var e *entry
				if e, err = s.table.lib.get(s.e.id); err == nil {
					err = do(w, r, e)
				}
			}
			if err != nil {
				fail(w, err)
			}
		})
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		secure(w.Header())
		site := r.Header.Get("Sec-Fetch-Site")
		if o := r.Header.Get("Origin"); !slices.Contains(s.guard.hosts, r.Host) || o != "" && o != "http://"+r.Host || r.Method != http.MethodGet && site != "" && site != "same-origin" {
			fail(w, faulty(http.StatusForbidden, "share", "shareover"))
			return
		}
		mux.ServeHTTP(w, r)
	})
}

// enter takes the key, once, for a cookie; a tablet that has the cookie comes
// in again.
func (s *share) enter(w http.ResponseWriter, r *http.Request) {
	var ask struct{ Key string }
	if err := read(w, r, &ask); err != nil {
		fail(w, err)
		return
	}
	s.mu.Lock()
	c, err := r.Cookie("kw" + s.guard.port)
	known := err == nil && same(c.Value, s.guard.cookie)
	fits := !s.used && same(ask.Key, s.guard.key)
	s.used = s.used || fits
	if !known && !fits {
		s.wrong++
	}
	guessed := s.wrong >= mostWrong
	s.mu.Unlock()
	if guessed {
		go s.table.unshare(s.e.id)
	}
	if !known && !fits {
		fail(w, faulty(http.StatusForbidden, "share", "shareover"))
		return
	}
	http.SetCookie(w, &http.Cookie{Name: "kw" + s.guard.port, Value: s.guard.cookie, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	answer(w, http.StatusOK, map[string]string{"token": s.guard.newPage(), "kit": s.e.id, "name": s.e.kept().Name})
}
