package web

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// A browser for all tests of the package: Debian's Chromium, without a window.
var chromium struct {
	once sync.Once
	ctx  context.Context
	end  func()
	err  error
}

func TestMain(m *testing.M) {
	if len(os.Args) == 2 && triers[os.Args[1]] != nil { // started by a test, in place of the program
		triers[os.Args[1]]()
		return
	}
	code := m.Run()
	if chromium.end != nil {
		chromium.end()
	}
	for _, dir := range laid.dirs {
		_ = os.RemoveAll(dir)
	}
	os.Exit(code)
}

// inBrowser begins a test that needs a real browser: before anything is made
// for it.
func inBrowser(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("a real browser takes its time")
	}
}

// tab is a page in the browser, with a table of its own behind it.
type tab struct {
	t   *testing.T
	o   *opened
	ctx context.Context
}

// screen is what a page is shown on.
type screen struct {
	w, h  int64
	dark  bool
	touch bool
}

var (
	desktop = screen{w: 1440, h: 900}
	tablet  = screen{w: 820, h: 1180}
	phone   = screen{w: 390, h: 844, touch: true}
)

// browse opens a tab that has come through the door. Whatever breaks the
// page's policy, asks for anything from elsewhere or throws, fails the test.
func browse(t *testing.T, o *opened, s screen) *tab {
	t.Helper()
	inBrowser(t)
	chromium.once.Do(func() {
		path, err := exec.LookPath("chromium")
		if err != nil {
			chromium.err = err
			return
		}
		dir, err := os.MkdirTemp("", "kitwright-browser")
		if err != nil {
			chromium.err = err
			return
		}
		opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.WSURLReadTimeout(patience),
			chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.UserDataDir(dir))
		a, c1 := chromedp.NewExecAllocator(context.Background(), opts...)
		ctx, c2 := chromedp.NewContext(a)
		chromium.err = chromedp.Do(ctx)
		chromium.ctx = ctx
		chromium.end = func() {
			_ = chromedp.Cancel(ctx)
			c2()
			c1()
			_ = os.RemoveAll(dir)
		}
	})
	if chromium.err != nil {
		checker.Missing(t, "chromium ("+chromium.err.Error()+")")
	}
	ctx, cancel := chromedp.NewContext(chromium.ctx)
	t.Cleanup(cancel)
	require.NoError(t, chromedp.Do(ctx)) // without a time limit: its end would end the tab
	b := &tab{t: t, o: o, ctx: ctx}
	steps := []chromedp.Action[chromedp.Void]{chromedp.EmulateViewport(s.w, s.h)}
	if s.touch {
		steps = []chromedp.Action[chromedp.Void]{chromedp.EmulateViewport(s.w, s.h, chromedp.EmulateScale(2), chromedp.EmulateMobile, chromedp.EmulateTouch)}
	}
	b.do(steps...)
	scheme := "light"
	if s.dark {
		scheme = "dark"
	}
	b.media("prefers-color-scheme", scheme)
	b.watch()
	b.open("/?key=" + o.key)
	return b
}

func (b *tab) media(name, value string) {
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: name, Value: value}}})
	require.NoError(b.t, err)
}

// watch makes every page collect what it must not do.
func (b *tab) watch() {
	_, err := chromedp.Call(b.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: `
		window.faults = [];
		addEventListener("securitypolicyviolation", e => faults.push("policy: " + e.violatedDirective + " " + e.blockedURI));
		addEventListener("error", e => faults.push("error: " + e.message));
		addEventListener("unhandledrejection", e => faults.push("rejection: " + (e.reason?.message ?? e.reason)));`})
	require.NoError(b.t, err)
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	require.NoError(b.t, chromedp.Do(ctx, steps...))
}

// eval runs a script in the page and returns what it gives.
func eval[T any](b *tab, script string) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	require.NoError(b.t, err, script)
	return v
}

// open goes to a place of the table and waits until its script is ready.
func (b *tab) open(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.o.url + path))
	b.until(`document.documentElement.dataset.ready === "yes"`)
}

// until waits for something to be true in the page.
func (b *tab) until(what string) {
	b.t.Helper()
	end := time.Now().Add(patience)
	for {
		ok, err := try[bool](b, "Promise.resolve("+what+").then(Boolean)")
		if err == nil && ok {
			return
		}
		if time.Now().After(end) {
			b.shot("failed")
			news := ""
			if err == nil {
				news = eval[string](b, `(document.getElementById("news")?.textContent ?? "") + " " + (document.getElementById("opennews")?.textContent ?? "") + " " + (window.faults ?? []).join("; ")`)
			}
			require.Fail(b.t, "it never came true", "%s (%v) %s", what, err, news)
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// clean wants that nothing happened in the page that must not.
func (b *tab) clean() {
	b.t.Helper()
	assert.Empty(b.t, eval[[]string](b, `window.faults ?? []`))
	assert.Empty(b.t, eval[[]string](b, `performance.getEntriesByType("resource").map(r => r.name).filter(n => !n.startsWith(location.origin) && !n.startsWith("blob:") && !n.startsWith("data:"))`), "nothing from elsewhere")
}

// shot takes a picture of the whole page where KITWRIGHT_SCREENS names a
// folder: to be opened and judged.
func (b *tab) shot(name string) {
	dir := os.Getenv("KITWRIGHT_SCREENS")
	if dir == "" {
		return
	}
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.t.Logf("%s: %v", name, err)
		return
	}
	require.NoError(b.t, os.MkdirAll(dir, 0o755))
	require.NoError(b.t, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

// json writes a value for a script.
func js(v any) string {
	text, _ := json.Marshal(v)
	return string(text)
}
