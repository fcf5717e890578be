package web

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"net/http"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// frames measures the board of 224,000 drills in 60 colors in the page: what
// a frame of panning and of zooming costs the script, in milliseconds.
const frames = `(async () => {
	const { Board } = await import("/assets/board.mjs")
	const cols = 448, rows = 500, legend = Array.from({ length: 60 }, (_, i) => ({ hex: "#" + (0x204060 + i * 0x030507 & 0xffffff).toString(16).padStart(6, "0"), l: i, white: i < 30, path: "M-60 -60L60 -60L0 70Z" }))
	const cells = new Uint8Array(cols * rows); let s = 7; for (let i = 0; i < cells.length; i++) { s = s * 1103515245 + 12345 & 0x7fffffff; cells[i] = s % 60 }
	const c = document.createElement("canvas"); document.body.append(c)
	const b = new Board(c); b.chart({ cols, rows, legend }, cells); b.resize(1440, 900)
	const run = async (size, step) => { b.to(size, 0, 0); b.frame(); const t = []; for (let i = 0; i < 150; i++) { step(i); t.push(b.frame()); if (i % 10 === 0) await new Promise(r => setTimeout(r)) } t.sort((a, b) => a - b); return t[142] }
	const pan = i => { b.x += i % 40 < 20 ? 9 : -9; b.y += i % 30 < 15 ? 6 : -6; b.clamp() }
	return { pan12: await run(12, pan), pan28: await run(28, pan), zoom: await run(12, i => b.to([10, 12, 14, 16, 18, 20][i % 6], 700, 400)), edit: await run(16, i => { b.cells[i * 97] = i % 60; b.repaint() }) }
})()`

// What was measured, for docs/measured.md:
//
//	KITWRIGHT_MEASURE=1 go test -v -run TestMeasured ./web
//
// It asserts nothing about time: other work on the machine is in all of it.
func TestMeasured(t *testing.T) {
	if os.Getenv("KITWRIGHT_MEASURE") == "" {
		t.Skip("KITWRIGHT_MEASURE is not set")
	}
	o := openTable(t, Config{})
	b := browse(t, o, desktop)
	f := eval[map[string]float64](b, frames)
	t.Logf("script time a frame at 224,000 drills, 1440 x 900, 95th percentile of 150, ms: pan at 12 px %.1f, at 28 px %.1f, zoom %.1f, edit %.1f", f["pan12"], f["pan28"], f["zoom"], f["edit"])
	b.open("/")
	t.Logf("first contentful paint, ms: %.0f", eval[float64](b, `performance.getEntriesByName("first-contentful-paint")[0].startTime`))

	big := image.NewNRGBA(image.Rect(0, 0, 4000, 3000))
	for y := range 3000 {
		for x := range 4000 {
			big.SetNRGBA(x, y, color.NRGBA{uint8(x * y / 9000), uint8(x / 16), uint8(y / 12), 255})
		}
	}
	var file bytes.Buffer
	require.NoError(t, jpeg.Encode(&file, big, &jpeg.Options{Quality: 90}))
	began := time.Now()
	var made struct{ Kit string }
	o.want("POST", "/api/kits?name=large.jpg", file.Bytes(), &made)
	t.Logf("12 Mpx read and laid on the table, s: %.2f", time.Since(began).Seconds())
	o.want("POST", "/api/kits/"+made.Kit+"/ladder", nil, nil)
	look := func(path string) bool {
		code, _ := o.ask("GET", "/api/kits/"+made.Kit+path, nil)
		return code == http.StatusOK
	}
	for !look("/coarse") && o.jobs.of(made.Kit) != "" {
		time.Sleep(5 * time.Millisecond)
	}
	t.Logf("a useful look, s after dropping: %.2f", time.Since(began).Seconds())
	o.wait(made.Kit)
	t.Logf("the ladder of seven, s after dropping: %.2f", time.Since(began).Seconds())

	id := o.demo("448x500")
	o.want("POST", "/api/kits/"+id+"/choose", map[string]any{"colors": "30", "make": true}, nil)
	o.wait(id)
	var chart struct{ Legend []struct{ Address string } }
	o.want("GET", "/api/kits/"+id+"/chart", nil, &chart)
	var worst, sum time.Duration
	for i := range 20 {
		began := time.Now()
		o.want("POST", "/api/kits/"+id+"/edit", map[string]any{"log": i, "edits": []map[string]any{{"act": "set", "to": chart.Legend[i%20].Address, "box": []int{i * 3, 5, 2, 1}}}}, nil)
		d := time.Since(began)
		sum += d
		worst = max(worst, d)
	}
	t.Logf("echo of an edit at 224,000 drills, ms: mean %d, worst of 20 %d", sum.Milliseconds()/20, worst.Milliseconds())
}
