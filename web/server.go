package web

import (
	"cmp"
	"context"
	"html/template"
	"io/fs"
	"maps"
	"mime"
	"net"
	"net/http"
	"os"
	"path"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/spf13/pflag"

	"kitwright/kit"
	"kitwright/palettes/shelf"
	"kitwright/render"
)

// Config is what a table is opened with.
type Config struct {
	Library  string            // the folder of the kits
	Home     string            // the folder of all that kitwright keeps: cards; "" = none
	Defaults map[string]string // settings for all runs, by flag name
	Locale   string            // of the system, for the paper
	Version  string
	Share    bool          // a tablet on her network may be let in to placing
	Try      []string      // the command that tries a photo in a process of its own; nil = none
	Reading  time.Duration // that reading a photo may take; two minutes unless given
	ShareAt  string        // the address to share at; her own on her network unless given
}

// Table is the worktable behind one listener.
type Table struct {
	cfg    Config
	addr   net.Addr
	guard  *guard
	lib    *library
	shelf  shelf.Shelf
	hub    *hub
	shares shares
	jobs   *jobs
	mux    *http.ServeMux
	pages  *template.Template
	demo   demoLook
	gauged gauged

	readingTime time.Duration // that a photo may take

	uploads chan struct{} // room for two at once
	heavy   chan struct{} // room for what is drawn at once
	saves   sync.WaitGroup
	unsaved atomic.Int32 // kits whose last edits are not on the disk
	closing chan struct{}
	once    sync.Once

	mu      sync.Mutex
	decided []decided // prints looked at last
	used    []*entry  // whose photos are in memory, the last used first
}

// New opens the table for a listener on the loopback. The key opens its door.
func New(cfg Config, addr net.Addr, key string) (*Table, error) {
	lib, err := openLibrary(cfg.Library)
	if err != nil {
		return nil, err
	}
	t := &Table{
		cfg: cfg, addr: addr, guard: newGuard(addr, key), lib: lib, shelf: shelf.Shelf{Dir: cfg.Home},
		readingTime: cmp.Or(cfg.Reading, mostReading), uploads: make(chan struct{}, 2), heavy: make(chan struct{}, 4), closing: make(chan struct{}),
	}
	t.hub = newHub(func(page string) { t.jobs.cancel(func(_, of string) bool { return of == page }) })
	t.jobs = newJobs(t.hub.tell)
	t.pages, err = template.New("").Funcs(template.FuncMap{"w": word}).ParseFS(assets, "assets/*.html")
	if err != nil {
		return nil, err
	}
	t.routes()
	return t, nil
}

// NewKey returns a key for the door.
func NewKey() string { return random(18) }

// Unsaved is how many kits have edits that are not on the disk, as where it is
// full. After Close they are lost.
func (t *Table) Unsaved() int { return int(t.unsaved.Load()) }

// Close ends all jobs and streams and waits a while until everything is on the disk.
func (t *Table) Close() error {
	t.once.Do(func() {
		t.unshare("")
		t.hub.close()
		t.jobs.close()
		t.flush(2 * time.Second)
		close(t.closing)
	})
	return t.lib.root.Close()
}

// flush waits for saves under way.
func (t *Table) flush(wait time.Duration) {
	done := make(chan struct{})
	go func() { t.saves.Wait(); close(done) }()
	select {
	case <-done:
	case <-time.After(wait):
	}
}

func (t *Table) routes() {
	t.mux = http.NewServeMux()
	t.mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { t.page(w, r, "start", nil) })
	for _, place := range []string{"work", "chart", "drills", "print", "placing"} {
		route := "GET /kit/{kit}/" + place
		if place == "work" {
			route = "GET /kit/{kit}"
		}
		t.mux.HandleFunc(route, func(w http.ResponseWriter, r *http.Request) { t.kitPage(w, r, place) })
	}
	t.mux.HandleFunc("GET /assets/{file}", t.asset)
	t.mux.HandleFunc("GET /events", func(w http.ResponseWriter, r *http.Request) {
		page := t.guard.pageOf(r.URL.Query().Get("page"))
		if page == "" {
			fail(w, faulty(http.StatusForbidden, "token", "token"))
			return
		}
		t.hub.serve(w, r, page)
	})
	t.mux.HandleFunc("GET /api/page", func(w http.ResponseWriter, r *http.Request) {
		answer(w, http.StatusOK, map[string]string{"token": t.guard.newPage()})
	})
	t.mux.HandleFunc("GET /hello", func(w http.ResponseWriter, r *http.Request) {
		answer(w, http.StatusOK, map[string]string{"version": t.cfg.Version, "library": t.lib.dir})
	})
	t.routesOfKits()
	t.routesOfDemo()
	t.routesOfPhotos()
	t.routesOfLadders()
	t.routesOfCharts()
	t.routesOfPrints()
	t.routesOfDrills()
	t.routesOfGauge()
	t.routesOfPlacing()
	t.routesOfSharing()
}

// ServeHTTP answers a request that the guard lets through.
func (t *Table) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	secure(w.Header())
	if r.URL.Path == "/hello" && same(r.Header.Get("X-Kit-Key"), t.guard.key) { // a second serve looks for the first
		r.AddCookie(&http.Cookie{Name: "kw" + t.guard.port, Value: t.guard.cookie})
	}
	if reason := t.guard.let(w, r); reason != "" {
		if strings.HasPrefix(r.URL.Path, "/api/") || r.URL.Path == "/events" {
			fail(w, faulty(http.StatusForbidden, reason, map[bool]string{true: "restarted", false: "door"}[reason == "cookie" || reason == "token"]))
			return
		}
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		w.WriteHeader(http.StatusForbidden)
		w.Write([]byte(word("fault.door") + "\n"))
		return
	}
	t.mux.ServeHTTP(w, r)
}

// view is what a page is made of.
type view struct {
	Place string // start, work, chart ...
	Kit   string
	Name  string
	Boot  any // what the page's script begins with
}

func (t *Table) page(w http.ResponseWriter, r *http.Request, place string, e *entry) {
	v := view{Place: place}
	if e != nil {
		v.Kit, v.Name = e.id, e.kept().Name
	}
	v.Boot = map[string]any{"place": place, "token": t.guard.newPage(), "kit": v.Kit, "name": v.Name, "words": words}
	var b strings.Builder
	if err := t.pages.ExecuteTemplate(&b, "page", v); err != nil {
		http.Error(w, word("fault.page"), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write([]byte(b.String()))
}

func (t *Table) kitPage(w http.ResponseWriter, r *http.Request, place string) {
	e, err := t.lib.get(r.PathValue("kit"))
	if err != nil {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.WriteHeader(http.StatusNotFound)
		v := view{Place: "gone", Name: err.Error(), Boot: map[string]any{"place": "gone", "words": words}}
		_ = t.pages.ExecuteTemplate(w, "page", v) // the connection may be gone
		return
	}
	t.page(w, r, place, e)
}

// asset serves a file of the page.
func (t *Table) asset(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("file")
	body, err := fs.ReadFile(assets, "assets/"+path.Base(name))
	kind := map[string]string{".mjs": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".svg": "image/svg+xml", ".jpg": "image/jpeg"}[path.Ext(name)]
	if err != nil || kind == "" {
		fail(w, faulty(http.StatusNotFound, "", "nofile"))
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Write(body)
}

// defaults are the settings of a new kit: those of the command, with what the
// crafter set for all runs.
func (t *Table) defaults() (order, print map[string]string) {
	o, p := kit.DefaultOrder(), render.DefaultPrint().In(t.cfg.Locale)
	o.Colors = kit.AutoColors // the ladder shows what to choose
	fo, fp := pflag.NewFlagSet("order", pflag.ContinueOnError), pflag.NewFlagSet("print", pflag.ContinueOnError)
	o.Bind(fo)
	p.Bind(fp)
	_ = setAll(fo, t.cfg.Defaults) // looked at by the command, which names what is wrong
	_ = setAll(fp, t.cfg.Defaults)
	return o.Settings(), p.Settings()
}

// with takes room for something heavy, for as long as work takes.
func (t *Table) with(ctx context.Context, room chan struct{}, work func() error) error {
	select {
	case room <- struct{}{}:
	case <-ctx.Done():
		return ctx.Err()
	}
	defer func() { <-room }()
	return work()
}

// api registers what a page may ask of a kit.
func (t *Table) api(route string, do func(w http.ResponseWriter, r *http.Request, e *entry) error) {
	method, rest, _ := strings.Cut(route, " ")
	t.mux.HandleFunc(method+" /api/kits/{kit}"+rest, func(w http.ResponseWriter, r *http.Request) {
		e, err := t.lib.get(r.PathValue("kit"))
		if err == nil {
			err = do(w, r, e)
		}
		if err != nil && r.Context().Err() == nil { // otherwise nobody waits for the answer any more
			fail(w, err)
		}
	})
}

// pageID is the page that asks.
func (t *Table) pageID(r *http.Request) string { return t.guard.pageOf(r.Header.Get(tokenHeader)) }

// attach makes an answer a download.
func attach(w http.ResponseWriter, name, kind string) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
}

// copySettings returns settings that may be changed.
func copySettings(m map[string]string) map[string]string { return maps.Clone(m) }

// exists says whether there is a folder.
func exists(dir string) bool {
	info, err := os.Stat(dir)
	return err == nil && info.IsDir()
}
