package web

import (
	"bytes"
	"image/jpeg"
	"image/png"
	"net/http"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/require"

	"kitwright/photo"
)

// frames measures the board of 224,000 drills in 60 colors in the page: what
// a frame of panning and of zooming costs the script, in milliseconds: the
// median of 150.
const frames = `(async () => {
	const { Board } = await import("/assets/board.mjs")
	const cols = 448, rows = 500, legend = Array.from({ length: 60 }, (_, i) => ({ hex: "#" + (0x204060 + i * 0x030507 & 0xffffff).toString(16).padStart(6, "0"), l: i, white: i < 30, path: "M-60 -60L60 -60L0 70Z" }))
	const cells = new Uint8Array(cols * rows); let s = 7; for (let i = 0; i < cells.length; i++) { s = s * 1103515245 + 12345 & 0x7fffffff; cells[i] = s % 60 }
	const c = document.createElement("canvas"); document.body.append(c)
	const b = new Board(c); b.chart({ cols, rows, legend }, cells); b.resize(1440, 900)
	const run = async (size, step) => { b.to(size, 0, 0); b.frame(); const t = []; for (let i = 0; i < 150; i++) { step(i); t.push(b.frame()); if (i % 10 === 0) await new Promise(r => setTimeout(r)) } t.sort((a, b) => a - b); return t[75] }
	const pan = i => { b.x += i % 40 < 20 ? 9 : -9; b.y += i % 30 < 15 ? 6 : -6; b.clamp() }
	return { pan12: await run(12, pan), pan28: await run(28, pan), zoom: await run(12, i => b.to([10, 12, 14, 16, 18, 20][i % 6], 700, 400)), edit: await run(16, i => { b.put([[i * 97, i % 60]]) }) }
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
	o := openTable(t, Config{Try: []string{os.Args[0], TryWord}})
	b := browse(t, o, desktop)
	f := eval[map[string]float64](b, frames)
	t.Logf("script time a frame at 224,000 drills, 1440 x 900, median of 150, ms: pan at 12 px %.1f, at 28 px %.1f, zoom %.1f, edit %.1f", f["pan12"], f["pan28"], f["zoom"], f["edit"])
	b.open("/")
	t.Logf("first contentful paint, ms: %.0f", eval[float64](b, `performance.getEntriesByName("first-contentful-paint")[0].startTime`))

	cat, err := png.Decode(bytes.NewReader(photo.Demo()))
	require.NoError(t, err)
	var file bytes.Buffer
	require.NoError(t, jpeg.Encode(&file, imaging.Resize(cat, 4032, 0, imaging.CatmullRom), &jpeg.Options{Quality: 92}))
	began, cpu := time.Now(), cpuTime()
	tell := func(what string) {
		t.Logf("%s, s after dropping a 12 Mpx photo: %.2f (processor time %.2f)", what, time.Since(began).Seconds(), cpuTime()-cpu)
	}
	var made struct{ Kit string }
	o.want("POST", "/api/kits?name=large.jpg", file.Bytes(), &made)
	tell("read and laid on the table")
	o.want("POST", "/api/kits/"+made.Kit+"/ladder", nil, nil)
	look := func(path string) bool {
		code, _ := o.ask("GET", "/api/kits/"+made.Kit+path, nil)
		return code == http.StatusOK
	}
	for !look("/coarse") && o.jobs.of(made.Kit) != "" {
		time.Sleep(20 * time.Millisecond)
	}
	tell("a useful look")
	o.wait(made.Kit)
	tell("the ladder of seven")

	id := o.demo("448x500")
	o.want("POST", "/api/kits/"+id+"/choose", map[string]any{"colors": "30", "make": true}, nil)
	o.wait(id)
	var chart struct{ Legend []struct{ Address string } }
	o.want("GET", "/api/kits/"+id+"/chart", nil, &chart)
	var all []time.Duration
	for i := range 21 {
		began := time.Now()
		o.want("POST", "/api/kits/"+id+"/edit", map[string]any{"log": i, "edits": []map[string]any{{"act": "set", "to": chart.Legend[i%20].Address, "box": []int{i * 3, 5, 2, 1}}}}, nil)
		all = append(all, time.Since(began))
	}
	slices.Sort(all)
	t.Logf("echo of an edit at 224,000 drills, ms: median %d of 21", all[10].Milliseconds())
}

// cpuTime is what this process has used so far, in seconds.
func cpuTime() float64 {
	text, err := os.ReadFile("/proc/self/stat")
	if err != nil {
		return 0 // no such thing on this system
	}
	f := strings.Fields(string(text[bytes.LastIndexByte(text, ')')+1:]))
	user, _ := strconv.ParseFloat(f[11], 64)
	system, _ := strconv.ParseFloat(f[12], 64)
	return (user + system) / 100
}
