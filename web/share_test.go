package web

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"net/http/cookiejar"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A tablet gets the placing of one kit by a key that opens once, and nothing
// else of the table.
func TestShare(t *testing.T) {
	o := openTable(t, Config{Share: true, ShareAt: "127.0.0.1"})
	id := o.made("40x30", "8")
	o.want("POST", "/api/kits/"+id+"/name", map[string]string{"name": "Maris by the sea"}, nil)
	o.wait(id)
	var s struct{ Address string }
	o.want("POST", "/api/kits/"+id+"/share", nil, &s)
	base, key, _ := strings.Cut(s.Address, "/#")
	assert.GreaterOrEqual(t, len(key), 21, "128 bits")
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	tablet := &http.Client{Jar: jar}
	ask := func(c *http.Client, method, path, host, token string, body any) (int, []byte) {
		text, err := json.Marshal(body)
		require.NoError(t, err)
		r, err := http.NewRequest(method, base+path, bytes.NewReader(text))
		require.NoError(t, err)
		if host != "" {
			r.Host = host
		}
		if token != "" {
			r.Header.Set(tokenHeader, token)
		}
		resp, err := c.Do(r)
		require.NoError(t, err)
		defer resp.Body.Close()
		got, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		assert.Equal(t, policy, resp.Header.Get("Content-Security-Policy"))
		return resp.StatusCode, got
	}
	code, page := ask(tablet, "GET", "/", "", "", nil)
	assert.Equal(t, 200, code)
	assert.NotContains(t, string(page), "Maris", "the page alone tells nothing of the kit")
	for _, path := range []string{"/placing", "/cells", "/placing/0"} {
		code, _ = ask(tablet, "GET", path, "", "", nil)
		assert.Equal(t, 403, code, path)
	}
	code, _ = ask(tablet, "POST", "/enter", "", "", map[string]string{"key": "guess"})
	assert.Equal(t, 403, code)
	code, _ = ask(tablet, "POST", "/enter", "evil.example", "", map[string]string{"key": key})
	assert.Equal(t, 403, code)
	code, body := ask(tablet, "POST", "/enter", "", "", map[string]string{"key": key})
	require.Equal(t, 200, code)
	var in struct{ Token, Kit string }
	require.NoError(t, json.Unmarshal(body, &in))
	assert.Equal(t, id, in.Kit)
	code, _ = ask(&http.Client{}, "POST", "/enter", "", "", map[string]string{"key": key})
	assert.Equal(t, 403, code, "a second one with the same key")

	var all struct {
		Mark      string
		Set, Left int
	}
	code, body = ask(tablet, "GET", "/placing", "", "", nil)
	require.Equal(t, 200, code)
	require.NoError(t, json.Unmarshal(body, &all))
	tick := map[string]any{"act": "done", "section": 0, "mark": all.Mark}
	code, _ = ask(tablet, "POST", "/tick", "", "", tick)
	assert.Equal(t, 403, code, "no token")
	code, body = ask(tablet, "POST", "/tick", "", in.Token, tick)
	require.Equal(t, 200, code, "%s", body)
	o.want("GET", "/api/kits/"+id+"/placing", nil, &all)
	assert.Positive(t, all.Set, "the progress is the kit's own")
	for _, path := range []string{"/api/kits", "/api/kits/" + id, "/kit/" + id, "/events", "/api/page", "/hello", "/api/kits/" + id + "/photo.jpg"} {
		code, _ = ask(tablet, "GET", path, "", "", nil)
		assert.Equal(t, 404, code, "%s is not shared", path)
	}
	o.want("POST", "/api/kits/"+id+"/unshare", nil, nil)
	_, err = tablet.Get(base + "/")
	assert.Error(t, err, "nothing listens any more")

	off := openTable(t, Config{Library: o.lib.dir})
	code, _ = off.ask("POST", "/api/kits/"+id+"/share", nil)
	assert.Equal(t, 403, code, "off by default")
}

// Whoever guesses keys ends the sharing.
func TestGuessingEndsASharing(t *testing.T) {
	o := openTable(t, Config{Share: true, ShareAt: "127.0.0.1"})
	id := o.made("40x30", "8")
	s, err := o.share(o.kitOf(id))
	require.NoError(t, err)
	ended := false
	for range 3 * mostWrong {
		resp, err := http.Post("http://"+s.addr+"/enter", "application/json", strings.NewReader(`{"key":"guess"}`))
		if err != nil {
			ended = true
			break
		}
		resp.Body.Close()
	}
	assert.True(t, ended)
}

// The tablet's page, in a browser: the key goes from the address, a color is
// set, and the kit knows it.
func TestATabletPlaces(t *testing.T) {
	inBrowser(t)
	o := openTable(t, Config{Share: true, ShareAt: "127.0.0.1"})
	id := o.made("40x30", "8")
	b := browse(t, o, tablet)
	b.open("/kit/" + id + "/placing")
	b.click("#sharing")
	b.until(`document.querySelector(".qr path")`)
	address := eval[string](b, `document.getElementById("shareaddress").textContent`)
	b.do(chromedp.Navigate(address))
	b.until(`document.querySelectorAll(".container").length > 1`)
	assert.NotContains(t, eval[string](b, "location.href"), "#")
	b.click("#set")
	b.until(`document.querySelector("#placingnews .toast")`)
	_, g, err := o.progress(o.kitOf(id))
	require.NoError(t, err)
	assert.Positive(t, g.Set())
	b.click("#run") // one run from the top, then one by a tap, which is taken back by another
	b.until(`document.querySelector("#placingnews .toast").textContent.includes("column")`)
	_, g, err = o.progress(o.kitOf(id))
	require.NoError(t, err)
	was := g.Set()
	for _, want := range []string{"set", "back"} {
		eval[bool](b, `document.querySelector("#placingnews .toast").replaceChildren() ?? true`)
		at := eval[[]float64](b, `(async () => {
			const all = await (await fetch("/placing")).json(), here = await (await fetch("/placing/" + document.getElementById("pick").value)).json()
			const lit = here.tasks[0].color, [bx, by, bw] = here.box
			const run = window.tapped ??= here.runs.find(r => r[0] === lit && !here.set[(r[2] - by) * bw + r[1] - bx])
			const c = document.getElementById("sheet")
			c.scrollIntoView({ block: "center" })
			const q = c.getBoundingClientRect(), s = Math.round((c.width - 2) / (bw + 1.6)), k = q.width / c.width // a drill, and the ruler of 1.6 before the first
			return [q.left + k * (Math.round(1.6 * s) + (run[1] - bx + .5) * s), q.top + k * (Math.round(1.6 * s) + (run[2] - by + .5) * s)]
		})()`)
		b.do(chromedp.MouseClickXY(at[0], at[1]))
		b.until(`document.querySelector("#placingnews .toast").textContent.includes("` + map[string]string{"set": " set, from", "back": "taken back, from"}[want] + `")`)
		_, g, err = o.progress(o.kitOf(id))
		require.NoError(t, err)
		assert.Equal(t, want == "set", g.Set() > was, want)
	}
	b.shot("share")
	b.clean()
	b.do(chromedp.Reload()) // the cookie opens it again
	b.until(`document.querySelectorAll(".container").length > 1`)
}
