package web

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// axe runs axe-core (Deque, MPL-2.0; npm axe-core 4.14.1, read by path) with
// all its rules in the page, and wants it to find nothing.
func (b *tab) axe(state string) {
	b.t.Helper()
	src, err := os.ReadFile(filepath.Join(checker.Folder(b.t, "KITWRIGHT_AXE"), "axe.min.js"))
	require.NoError(b.t, err)
	eval[int](b, string(src)+";0")
	found := eval[[]string](b, `axe.run().then(r => r.violations.map(v => v.id + ": " + v.nodes.slice(0, 2).map(n => n.html.slice(0, 160) + " " + (n.any[0]?.message ?? n.all[0]?.message ?? "")).join(" | ")))`)
	assert.Empty(b.t, found, state)
	assert.LessOrEqual(b.t, eval[float64](b, `document.documentElement.scrollWidth - innerWidth`), 0.0, "%s scrolls sideways", state)
	small := eval[[]string](b, `[...document.querySelectorAll("a, button, select, summary, input:not([type=checkbox]):not(.vh):not(.rung input):not(.picks input):not(.pages input)")].filter(e => { const r = (e.matches("input") && e.closest("label") || e).getBoundingClientRect(); return e.checkVisibility() && r.width && (r.height < 43.5 || r.width < 43.5) && !e.matches(".skip") && !(e.matches("a") && e.closest("p, span")) }).map(e => e.outerHTML.slice(0, 120))`)
	assert.Empty(b.t, small, "%s: targets under 44 by 44 pixels", state)
	b.clean()
}

// states walks through every state of the table.
func (b *tab) states(id string, see func(state string)) {
	see("start")
	code := eval[int](b, `new Promise(r => { const d = new DataTransfer(); d.items.add(new File(["%PDF-1.4"], "cat.jpg")); const i = document.getElementById("pick"); i.files = d.files; i.dispatchEvent(new Event("change")); const t = setInterval(() => { if (document.querySelector("#dropnews .oops")) { clearInterval(t); r(1) } }, 20) })`)
	require.Equal(b.t, 1, code)
	see("start, a photo refused")
	b.open("/kit/" + id)
	b.until(`document.querySelectorAll(".rung .fin").length > 3 && document.getElementById("sum").children.length > 0`)
	see("work")
	eval[bool](b, `(document.getElementById("more").open = true)`)
	see("work, all settings")
	b.open("/kit/" + id + "/chart")
	b.until(`document.querySelectorAll(".bag").length > 5`)
	see("chart")
	eval[bool](b, `(document.getElementById("bag-3").click(), document.getElementById("reader").open = true)`)
	b.until(`document.querySelectorAll("#near li").length > 3`)
	see("chart, a color lit")
	if eval[bool](b, `(() => { const s = document.querySelector("#sweep button"); s.click(); return !s.disabled })()`) {
		b.until(`document.querySelector("#sweepyes")`)
		see("chart, lone drills")
	}
	b.open("/kit/" + id + "/drills")
	b.until(`document.querySelectorAll("tbody tr").length > 5`)
	see("drills")
	b.open("/kit/" + id + "/print")
	b.until(`document.querySelectorAll(".pg img").length > 5`)
	eval[bool](b, `(document.querySelector("#prints details").open = true)`)
	see("print")
	b.open("/kit/" + id + "/placing")
	b.until(`document.querySelectorAll(".container").length > 2`)
	see("placing")
	b.do(chromedp.Navigate(b.o.url + "/kit/no-such-kit"))
	b.until(`document.querySelector("h1")`)
	see("no such kit")
}

// unfinished walks through what is not made yet, under way, stopped, or failed.
func (b *tab) unfinished(see func(state string)) {
	b.t.Helper()
	var kit struct{ Kit string }
	b.o.want("POST", "/api/kits?demo=1", nil, &kit)
	for place, has := range map[string]string{"chart": "#chartnews .oops", "drills": "#gaugefile", "print": "#printnews .oops, #prints .oops", "placing": "#placing .oops"} {
		b.open("/kit/" + kit.Kit + "/" + place)
		b.until(`document.querySelector("` + has + `")`)
		see(place + ", no chart yet")
	}
	b.o.want("POST", "/api/kits/"+kit.Kit+"/order", map[string]any{"order": map[string]string{"grid": "240x180", "effort": "prove"}}, nil)
	b.open("/kit/" + kit.Kit)
	b.until(`!document.getElementById("stop").hidden`)
	see("work, the ladder under way")
	b.click("#stop")
	b.until(`document.getElementById("stop").hidden`)
	see("work, the ladder stopped")
	require.NoError(b.t, b.o.kitOf(kit.Kit).keep(func(st *stored) { st.Order["card"] = "a-card-that-is-gone" }))
	b.open("/kit/" + kit.Kit)
	b.until(`document.querySelector("#statesays .oops, #news .oops")`)
	see("work, the card is gone")
}

// walked is a table with a ladder and a kit: all that the states show.
func walked(t *testing.T) (*opened, string) {
	o := openTable(t, Config{Home: t.TempDir()})
	id := o.demo("60x45")
	o.want("POST", "/api/kits/"+id+"/order", map[string]any{"order": map[string]string{"focus": "27,25,20,26"}, "ladder": true}, nil)
	o.wait(id)
	o.want("POST", "/api/kits/"+id+"/choose", map[string]any{"colors": "18", "make": true}, nil)
	o.wait(id)
	return o, id
}

// Nothing that axe-core knows is wrong with any state, at any width, in either
// scheme; nothing scrolls sideways; every target is large enough to be hit.
func TestAccessible(t *testing.T) {
	inBrowser(t)
	checker.Folder(t, "KITWRIGHT_AXE")
	o, id := walked(t)
	for name, s := range map[string]screen{"desktop": desktop, "tablet": tablet, "phone": phone} {
		for _, dark := range []bool{false, true} {
			s.dark = dark
			t.Run(fmt.Sprintf("%s dark=%v", name, dark), func(t *testing.T) {
				b := browse(t, o, s)
				b.states(id, func(state string) { b.axe(state) })
			})
		}
	}
}

// So it is with what is not finished, on a small dark screen.
func TestUnfinishedIsAccessible(t *testing.T) {
	inBrowser(t)
	checker.Folder(t, "KITWRIGHT_AXE")
	o := openTable(t, Config{Home: t.TempDir()})
	b := browse(t, o, screen{w: phone.w, h: phone.h, touch: true, dark: true})
	b.unfinished(func(state string) { b.axe(state) })
}

// At 200 % zoom, which halves the width in CSS pixels, in forced colors and as
// people see it who tell few colors or none, every state is there and nothing
// scrolls sideways.
func TestOtherEyes(t *testing.T) {
	inBrowser(t)
	o, id := walked(t)
	wide := func(b *tab) func(string) {
		return func(state string) {
			assert.LessOrEqual(t, eval[float64](b, `document.documentElement.scrollWidth - innerWidth`), 0.0, "%s scrolls sideways", state)
			b.clean()
		}
	}
	b := browse(t, o, screen{w: 640, h: 400})
	b.states(id, wide(b))

	b = browse(t, o, desktop)
	b.media("forced-colors", "active")
	b.states(id, func(state string) {
		wide(b)(state)
		if state == "work" { // what is chosen still shows
			assert.NotEqual(t, "none", eval[string](b, `getComputedStyle(document.querySelector(".rung input:checked ~ .stand .fin")).outlineStyle`))
		}
	})
	b.media("forced-colors", "none")
	for _, kind := range []emulation.SetEmulatedVisionDeficiencyType{"deuteranopia", "achromatopsia"} {
		_, err := chromedp.Call(b.ctx, emulation.SetEmulatedVisionDeficiency, emulation.SetEmulatedVisionDeficiencyParams{Type: kind})
		require.NoError(t, err)
		b.open("/kit/" + id + "/chart")
		b.until(`document.querySelectorAll(".bag").length > 5`)
		b.shot("chart-" + string(kind))
		// A lit color differs from all others in lightness, not in hue alone:
		// whatever is lit, its neighbors are faded to a gray far from it.
		worst := eval[float64](b, `import("/assets/chart.mjs").then(m => { let worst = 99; const lum = ([r, g, b]) => .2126 * (r / 255) ** 2.2 + .7152 * (g / 255) ** 2.2 + .0722 * (b / 255) ** 2.2
			for (let k = 0; k < m.chart.legend.length; k++) { m.board.lit = k; for (let j = 0; j < m.chart.legend.length; j++) if (j !== k) { const a = lum(m.board.tone(k)) + .05, c = lum(m.board.tone(j)) + .05; worst = Math.min(worst, Math.max(a / c, c / a)) } }
			m.board.lit = -1; return worst })`)
		assert.Greater(t, worst, 1.25, "lit against faded, as a contrast")
	}
}
