package web

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/photo"
)

const testKey = "the-key-of-this-test"

// opened is a table that is open, and a visitor with its cookie and a page.
type opened struct {
	*Table
	t     *testing.T
	url   string
	key   string
	token string
	http  *http.Client
}

// openTable opens a table on a real port: Host and Origin are part of the test.
func openTable(t *testing.T, cfg Config) *opened {
	at, err := net.Listen("tcp4", "127.0.0.1:0")
	require.NoError(t, err)
	if cfg.Library == "" {
		cfg.Library = t.TempDir()
	}
	table, err := New(cfg, at.Addr(), testKey)
	require.NoError(t, err)
	served := serve(at, table)
	t.Cleanup(func() {
		assert.NoError(t, table.Close())
		served.close()
		table.saves.Wait() // before the library is removed
	})
	return &opened{Table: table, t: t, url: "http://" + at.Addr().String(), key: testKey, token: table.guard.newPage(), http: &http.Client{Timeout: patience}}
}

// served answers at a listener.
type served struct {
	server *http.Server
	asked  sync.RWMutex // held for reading by each request that is answered
}

func serve(at net.Listener, table *Table) *served {
	s := &served{}
	s.server = &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.asked.RLock()
		defer s.asked.RUnlock()
		table.ServeHTTP(w, r)
	})}
	go s.server.Serve(at)
	return s
}

// close ends all connections and waits until nobody writes for them any more.
func (s *served) close() {
	s.server.Close()
	s.asked.Lock()
	s.asked.Unlock()
}

// ask sends a request as the page would and returns the answer's status and
// body.
func (o *opened) ask(method, path string, body any) (int, []byte) {
	var in io.Reader
	switch b := body.(type) {
	case nil:
	case []byte:
		in = bytes.NewReader(b)
	default:
		text, err := json.Marshal(b)
		require.NoError(o.t, err)
		in = bytes.NewReader(text)
	}
	r, err := http.NewRequest(method, o.url+path, in)
	require.NoError(o.t, err)
	r.AddCookie(&http.Cookie{Name: "kw" + o.guard.port, Value: o.guard.cookie})
	r.Header.Set(tokenHeader, o.token)
	resp, err := o.http.Do(r)
	require.NoError(o.t, err)
	defer resp.Body.Close()
	got, err := io.ReadAll(resp.Body)
	require.NoError(o.t, err)
	return resp.StatusCode, got
}

// want asks, and wants success and an answer of this form.
func (o *opened) want(method, path string, body, into any) {
	o.t.Helper()
	code, got := o.ask(method, path, body)
	require.Less(o.t, code, 300, "%s %s: %s", method, path, got)
	if into != nil {
		require.NoError(o.t, json.Unmarshal(got, into), "%s", got)
	}
}

// wait waits until no job of a kit is under way.
func (o *opened) wait(id string) {
	o.t.Helper()
	require.Eventually(o.t, func() bool { return o.jobs.of(id) == "" }, patience, 5*time.Millisecond)
}

// demo lays the demo photo on the table, on a small canvas.
func (o *opened) demo(grid string) string {
	o.t.Helper()
	var made struct{ Kit string }
	o.want("POST", "/api/kits?demo=1", nil, &made)
	o.want("POST", "/api/kits/"+made.Kit+"/order", map[string]any{"order": map[string]string{"grid": grid, "colors": "12", "effort": "quick"}}, nil)
	return made.Kit
}

// laid are libraries with one kit each, by grid and colors: made once, and
// copied for every test that begins with a kit.
var laid struct {
	sync.Mutex
	dirs map[string]string
}

// made lays the demo photo on the table with its kit made on a canvas of so
// many drills in so many colors.
func (o *opened) made(grid, colors string) string {
	o.t.Helper()
	laid.Lock()
	defer laid.Unlock()
	name := grid + " " + colors
	if laid.dirs[name] == "" {
		dir, err := os.MkdirTemp("", "kitwright-laid")
		require.NoError(o.t, err)
		first := openTable(o.t, Config{Library: dir})
		id := first.demo(grid)
		first.want("POST", "/api/kits/"+id+"/choose", map[string]any{"colors": colors, "make": true}, nil)
		first.wait(id)
		if laid.dirs == nil {
			laid.dirs = map[string]string{}
		}
		laid.dirs[name] = dir
	}
	before := o.lib.list()
	require.Empty(o.t, before, "a table with other kits gives this one another name")
	require.NoError(o.t, os.CopyFS(o.lib.dir, os.DirFS(laid.dirs[name])))
	ids := o.lib.list()
	require.Len(o.t, ids, 1)
	return ids[0]
}

// Who may ask: each line a request that a stranger might send, and what a
// browser would send for her own page.
func TestSecurity(t *testing.T) {
	o := openTable(t, Config{})
	host := strings.TrimPrefix(o.url, "http://")
	port := host[strings.LastIndexByte(host, ':'):]
	cookie := "kw" + o.guard.port + "=" + o.guard.cookie
	for _, c := range []struct {
		what, method, path, host string
		header                   map[string]string
		want                     int
	}{
		{"no cookie", "GET", "/", host, nil, 403},
		{"wrong key", "GET", "/?key=guess", host, nil, 403},
		{"no key at all", "GET", "/?key=", host, nil, 403},
		{"right key", "GET", "/?key=" + testKey, host, nil, 200},
		{"right key, clicked in a mail", "GET", "/?key=" + testKey, host, map[string]string{"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}, 200},
		{"right key, framed", "GET", "/?key=" + testKey, host, map[string]string{"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "iframe"}, 403},
		{"right key, fetched", "GET", "/?key=" + testKey, host, map[string]string{"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"}, 403},
		{"right key, wrong host", "GET", "/?key=" + testKey, "evil.example" + port, nil, 403},
		{"cookie", "GET", "/", host, map[string]string{"Cookie": cookie}, 200},
		{"by name", "GET", "/", "localhost" + port, map[string]string{"Cookie": cookie}, 200},
		{"by IPv6", "GET", "/", "[::1]" + port, map[string]string{"Cookie": cookie}, 200},
		{"wrong host", "GET", "/", "evil.example" + port, map[string]string{"Cookie": cookie}, 403},
		{"a name that begins like ours", "GET", "/", "127.0.0.1.evil.example" + port, map[string]string{"Cookie": cookie}, 403},
		{"no port", "GET", "/", "127.0.0.1", map[string]string{"Cookie": cookie}, 403},
		{"another port", "GET", "/", "127.0.0.1:1", map[string]string{"Cookie": cookie}, 403},
		{"any address", "GET", "/", "0.0.0.0" + port, map[string]string{"Cookie": cookie}, 403},
		{"wrong origin", "POST", "/api/kits?demo=1", host, map[string]string{"Cookie": cookie, tokenHeader: o.token, "Origin": "http://evil.example"}, 403},
		{"no origin to tell", "POST", "/api/kits?demo=1", host, map[string]string{"Cookie": cookie, tokenHeader: o.token, "Origin": "null"}, 403},
		{"origin of another port", "POST", "/api/kits?demo=1", host, map[string]string{"Cookie": cookie, tokenHeader: o.token, "Origin": "http://127.0.0.1:1"}, 403},
		{"cross-site", "POST", "/api/kits?demo=1", host, map[string]string{"Cookie": cookie, tokenHeader: o.token, "Sec-Fetch-Site": "cross-site"}, 403},
		{"same-site is another port", "GET", "/assets/page.css", host, map[string]string{"Cookie": cookie, "Sec-Fetch-Site": "same-site"}, 403},
		{"a picture from another page", "GET", "/api/kits", host, map[string]string{"Cookie": cookie, "Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"}, 403},
		{"no token", "POST", "/api/kits?demo=1", host, map[string]string{"Cookie": cookie}, 403},
		{"forged token", "POST", "/api/kits?demo=1", host, map[string]string{"Cookie": cookie, tokenHeader: "ab12.ffff"}, 403},
		{"all as the page sends it", "POST", "/api/kits?demo=1", host, map[string]string{"Cookie": cookie, tokenHeader: o.token, "Origin": o.url, "Sec-Fetch-Site": "same-origin"}, 201},
		{"another method", "DELETE", "/api/kits", host, map[string]string{"Cookie": cookie, tokenHeader: o.token}, 405},
		{"hello without the key", "GET", "/hello", host, nil, 403},
		{"hello with the key", "GET", "/hello", host, map[string]string{"X-Kit-Key": testKey}, 200},
		{"events without a page", "GET", "/events?page=x.y", host, map[string]string{"Cookie": cookie}, 403},
		{"up and out", "GET", "/assets/..%2f..%2fetc%2fpasswd", host, map[string]string{"Cookie": cookie}, 404},
		{"up and out of a kit", "GET", "/api/kits/..%2f..%2fetc/photo.jpg", host, map[string]string{"Cookie": cookie}, 404},
		{"up and out by backslashes", "GET", "/api/kits/..%5c..%5cetc/photo.jpg", host, map[string]string{"Cookie": cookie}, 404},
		{"the words are for us", "GET", "/assets/words.en.json", host, map[string]string{"Cookie": cookie}, 404},
	} {
		r, err := http.NewRequest(c.method, o.url+c.path, nil)
		require.NoError(t, err)
		r.Host = c.host
		for k, v := range c.header {
			r.Header.Set(k, v)
		}
		resp, err := http.DefaultTransport.RoundTrip(r)
		require.NoError(t, err, c.what)
		body, _ := io.ReadAll(resp.Body)
		resp.Body.Close()
		assert.Equal(t, c.want, resp.StatusCode, "%s: %s", c.what, body)
		assert.Equal(t, policy, resp.Header.Get("Content-Security-Policy"), c.what)
		assert.Equal(t, "nosniff", resp.Header.Get("X-Content-Type-Options"), c.what)
		if set := resp.Header.Get("Set-Cookie"); set != "" {
			assert.Contains(t, c.what, "right key")
			assert.Regexp(t, `; Path=/; HttpOnly; SameSite=Strict$`, set)
		}
	}
}

// Each start has another cookie and other tokens.
func TestAnotherStartKnowsNoOldPage(t *testing.T) {
	a, b := openTable(t, Config{}), openTable(t, Config{})
	assert.NotEqual(t, a.guard.cookie, b.guard.cookie)
	assert.Empty(t, b.guard.pageOf(a.token))
	assert.NotEmpty(t, a.guard.pageOf(a.token))
	assert.NotEqual(t, a.token, a.guard.newPage())
	a.guard.cookie = "restarted"
	r, err := http.NewRequest("GET", a.url+"/api/kits", nil)
	require.NoError(t, err)
	resp, err := a.http.Do(r)
	require.NoError(t, err)
	body, _ := io.ReadAll(resp.Body)
	resp.Body.Close()
	assert.Equal(t, 403, resp.StatusCode)
	assert.Contains(t, string(body), "was started anew")
}

func TestUploads(t *testing.T) {
	o := openTable(t, Config{})
	var made struct{ Kit string }
	o.want("POST", "/api/kits?name="+"..%2f..%2fMy%20Cat.PNG", photo.Demo(), &made)
	assert.Equal(t, "my-cat", made.Kit)
	kept, err := os.ReadFile(filepath.Join(o.lib.dir, "my-cat", "My Cat.PNG"))
	require.NoError(t, err)
	assert.Equal(t, photo.Demo(), kept, "the photo as it came")
	o.want("POST", "/api/kits?name=My%20Cat.PNG", photo.Demo(), &made)
	assert.Equal(t, "my-cat-2", made.Kit, "nothing is overwritten")

	for name, body := range map[string]string{"cat.jpg": "%PDF-1.4 not a photo", "empty.jpg": "", "half.png": string(photo.Demo()[:2000])} {
		code, got := o.ask("POST", "/api/kits?name="+name, []byte(body))
		assert.GreaterOrEqual(t, code, 400, name)
		var told struct{ Error fault }
		require.NoError(t, json.Unmarshal(got, &told))
		assert.NotEmpty(t, told.Error.What, name)
		assert.NotEmpty(t, told.Error.Try, name)
	}
	entries, err := os.ReadDir(o.lib.path(comingDir))
	require.NoError(t, err)
	assert.Empty(t, entries, "nothing is left behind")
	assert.Len(t, o.lib.list(), 2)
}

// A file over the limit is refused by what it says of itself, and also when it
// says nothing.
func TestATooLargeUploadIsRefused(t *testing.T) {
	o := openTable(t, Config{})
	for _, known := range []bool{true, false} {
		r, err := http.NewRequest("POST", o.url+"/api/kits?name=large.jpg", io.LimitReader(zeros{}, mostUpload+1))
		require.NoError(t, err)
		if known {
			r.ContentLength = mostUpload + 1
		} else if testing.Short() {
			continue
		}
		r.AddCookie(&http.Cookie{Name: "kw" + o.guard.port, Value: o.guard.cookie})
		r.Header.Set(tokenHeader, o.token)
		resp, err := o.http.Do(r)
		if err != nil { // the server hung up on it
			continue
		}
		resp.Body.Close()
		assert.Equal(t, http.StatusRequestEntityTooLarge, resp.StatusCode)
	}
	assert.Empty(t, o.lib.list())
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// Two uploads at once are taken; the others are told to wait.
func TestTenUploadsAtOnce(t *testing.T) {
	o := openTable(t, Config{})
	hold, let := io.Pipe()
	codes := make(chan int, 10)
	for range 2 {
		go func() {
			r, _ := http.NewRequest("POST", o.url+"/api/kits?name=slow.png", hold)
			r.AddCookie(&http.Cookie{Name: "kw" + o.guard.port, Value: o.guard.cookie})
			r.Header.Set(tokenHeader, o.token)
			resp, err := o.http.Do(r)
			if err == nil {
				resp.Body.Close()
			}
		}()
	}
	require.Eventually(t, func() bool { return len(o.uploads) == 2 }, patience, time.Millisecond)
	for range 8 {
		code, _ := o.ask("POST", "/api/kits?name=cat.png", photo.Demo())
		codes <- code
	}
	let.CloseWithError(io.ErrUnexpectedEOF)
	close(codes)
	for c := range codes {
		assert.Equal(t, http.StatusTooManyRequests, c)
	}
	require.Eventually(t, func() bool { return len(o.uploads) == 0 }, patience, time.Millisecond)
	code, _ := o.ask("POST", "/api/kits?name=cat.png", photo.Demo())
	assert.Equal(t, http.StatusCreated, code)
}

// Every word that the program or the page asks for is in the one file, and
// every word of the file is asked for.
func TestWords(t *testing.T) {
	asked := map[string]bool{}
	key := regexp.MustCompile(`(?:\bw "|\bword\(['"]|\bw\(['"]|faulty\([^,]+, "[a-z]*", ")([a-z0-9.-]+)`)
	entries, err := os.ReadDir("assets")
	require.NoError(t, err)
	var texts []string
	for _, e := range entries {
		if filepath.Ext(e.Name()) != ".json" {
			texts = append(texts, "assets/"+e.Name())
		}
	}
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	for _, f := range append(texts, files...) {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		for _, m := range key.FindAllSubmatch(text, -1) {
			k := string(m[1])
			if bytes.HasPrefix(m[0], []byte("faulty")) {
				k = "fault." + k
			}
			if strings.HasSuffix(k, ".") || strings.HasSuffix(k, "-") {
				continue // the end comes at run time
			}
			asked[k] = true
			assert.Contains(t, words, k, f)
		}
	}
	assert.Greater(t, len(asked), 20)
}

// A page's stream: one a page, the oldest of too many ends, and a page that is
// closed takes its jobs with it.
func TestStreams(t *testing.T) {
	left := make(chan string, 8)
	h := newHub(func(page string) { left <- page })
	h.grace = 50 * time.Millisecond
	var ends []string
	add := func(page string) *stream { return h.join(page, func() { ends = append(ends, page) }) }
	a := add("a")
	a2 := add("a")
	assert.Equal(t, []string{"a"}, ends, "a page that is loaded again")
	h.leave(a)
	for _, p := range []string{"b", "c", "d"} {
		add(p)
	}
	assert.Empty(t, a2.out)
	add("e")
	assert.Equal(t, "moved", (<-a2.out).name)
	for range 200 { // a page that does not keep up is told so
		h.tell("job", nil)
	}
	last := event{}
	for len(h.streams[1].out) > 0 {
		last = <-h.streams[1].out
	}
	assert.Equal(t, "again", last.name)
	h.leave(a2)
	assert.Equal(t, "a", <-left)
	h.close()
}

// One job a kit: a new one ends the one before; those of a page end with it.
func TestJobs(t *testing.T) {
	told := make(chan progress, 100)
	j := newJobs(func(_ string, data any) { told <- data.(progress) })
	began := make(chan string, 10)
	work := func(name string) func(context.Context) error {
		return func(ctx context.Context) error {
			began <- name
			<-ctx.Done()
			return ctx.Err()
		}
	}
	j.start("cat", "p", "ladder", work("one"))
	assert.Equal(t, "one", <-began)
	j.start("cat", "p", "ladder", work("two"))
	assert.Equal(t, "two", <-began)
	j.start("dog", "q", "ladder", work("three")) // waits for its turn
	assert.Equal(t, "ladder", j.of("dog"))
	assert.Empty(t, began)
	j.cancel(func(_, page string) bool { return page == "p" })
	assert.Equal(t, "three", <-began)
	j.start("cat", "p", "kit", func(context.Context) error { panic("a fault in the work") })
	j.stop("dog")
	require.Eventually(t, func() bool { return j.of("cat") == "" }, patience, time.Millisecond)
	j.close()
	close(told)
	var failed *fault
	for p := range told {
		if p.State == "failed" {
			failed = p.Error
		}
	}
	require.NotNil(t, failed, "a panic ends one job, not the table")
	j.start("cat", "p", "kit", work("never"))
	assert.Empty(t, began, "the table is closed")
}
