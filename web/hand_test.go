package web

import (
	"context"
	"fmt"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// patience is how long a test waits for what has to come: far longer than it
// takes on a slow and busy machine, so that only what hangs ends it.
const patience = 3 * time.Minute

// resting waits in the page until an element can be pressed, as a person would:
// it is shown, enabled, does not move, and nothing lies over it. From then on
// the page notes whether an event of a kind reaches the element. It gives the
// element's box, or nothing where that takes too long.
const resting = `(async (css, kind) => {
	const box = () => {
		const e = document.querySelector(css), r = e?.checkVisibility() && !e.matches(":disabled") && e.getClientRects()[0]
		return r && r.width && r.height ? { e, r, key: [r.left, r.top, r.width, r.height].join() } : null
	}
	const bare = b => { const top = document.elementFromPoint(b.r.left + b.r.width / 2, b.r.top + b.r.height / 2); return top && (b.e.contains(top) || top.contains(b.e) && top.matches("label")) }
	for (let tries = 0, calm = 0, last = null; tries < 60; tries++) {
		let b = box()
		if (b && !bare(b)) { b.e.scrollIntoView({ block: "center", inline: "center", behavior: "instant" }); b = box() }
		calm = b && last && b.e === last.e && b.key === last.key && bare(b) ? calm + 1 : 0
		last = b
		if (calm === 3) {
			window.felt = false
			window.feeling?.abort()
			window.feeling = new AbortController()
			addEventListener(kind, e => { if (e.composedPath().includes(b.e)) window.felt = true }, { capture: true, signal: window.feeling.signal })
			return [b.r.left, b.r.top, b.r.width, b.r.height]
		}
		await new Promise(r => setTimeout(r, 40))
	}
	return []
})`

// hand presses, taps or drags an element that rests, and does so once more
// where the element did not feel it: what comes in late, a picture or a note,
// may push it away under the hand.
func (b *tab) hand(css, kind string, does func(x, y, w, h float64) chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	end := time.Now().Add(patience)
	for time.Now().Before(end) {
		at, err := try[[]float64](b, fmt.Sprintf("%s(%s, %s)", resting, js(css), js(kind)))
		if err != nil || len(at) < 4 {
			continue // drawn anew, or another page
		}
		b.do(does(at[0], at[1], at[2], at[3]))
		for waits := 0; waits < 100; waits++ {
			felt, err := try[bool](b, "window.felt !== false") // a page that was left notes nothing
			if err == nil && felt {
				return
			}
			time.Sleep(50 * time.Millisecond)
		}
		b.t.Logf("%s was not felt at %.0f: once more", css, at)
	}
	b.shot("failed")
	require.Fail(b.t, "it cannot be reached", css)
}

// try runs a script in the page, which may be left meanwhile.
func try[T any](b *tab, script string) (T, error) {
	ctx, cancel := context.WithTimeout(b.ctx, 20*time.Second)
	defer cancel()
	return chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
}

func (b *tab) click(css string) {
	b.t.Helper()
	b.hand(css, "click", func(x, y, w, h float64) chromedp.Action[chromedp.Void] { return chromedp.MouseClickXY(x+w/2, y+h/2) })
}

func (b *tab) tap(css string) {
	b.t.Helper()
	b.hand(css, "click", func(x, y, w, h float64) chromedp.Action[chromedp.Void] { return chromedp.TapXY(x+w/2, y+h/2) })
}

// drag drags over an element, from and to shares of its width and height.
func (b *tab) drag(css string, from, to [2]float64, steps int) {
	b.t.Helper()
	b.hand(css, "pointerup", func(x, y, w, h float64) chromedp.Action[chromedp.Void] {
		return chromedp.DragAndDropXY(x+w*from[0], y+h*from[1], x+w*to[0], y+h*to[1], steps)
	})
}

// ladder waits until the ladder of what is wanted by now is over, and the page
// shows that one.
func (b *tab) ladder(id string) {
	b.t.Helper()
	b.until(`import("/assets/ladder.mjs").then(async m => {
		const d = await (await fetch("/api/kits/` + id + `/ladder")).json(), of = l => l.rungs.map(r => [r.asked, r.seq, ...r.hex].join()).join(" ")
		return d.over && d.now && m.data.over && m.data.now && of(d) === of(m.data) && document.getElementById("stop").hidden && document.querySelectorAll(".rung input").length > 4
	})`)
	b.o.wait(id)
}
