package render

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/render/pdf"
)

// gridBytes returns the size of the streams of the chart in a canvas: what a
// second copy of it adds to a file.
func gridBytes(b *testing.B, k *kit.Kit, p Print) int {
	c := newCanvas(k, p)
	size := func(copies int) int {
		pg := &pdf.Page{W: c.sheetW, H: c.sheetH}
		for range copies {
			pg.Add(c.grid()...)
		}
		var w countWriter
		d := pdf.Document{Box: c.skin.Box, Pages: []*pdf.Page{pg}}
		require.NoError(b, d.Write(&w))
		return w.n
	}
	return size(2) - size(1)
}

// Bytes a cell, 60 colors: a photo at nearly a drill a pixel, a
// picture two thirds of whose drills begin a new run, and the worst there is,
// drills that all differ from their neighbors.
func BenchmarkGridBytes(b *testing.B) {
	photo := catKit(b, 440, 290, 60, kit.Square)
	worst := testKit(b, 400, 560, 60, kit.Square)
	for i := range worst.Chart.Cells {
		worst.Chart.Cells[i] = uint16((i*i*7 + i/400*31 + i*i/977) % 60)
	}
	for name, k := range map[string]*kit.Kit{"photo": photo, "busy": testKit(b, 400, 560, 60, kit.Square), "confetti": worst} {
		b.Run(name, func(b *testing.B) {
			n := 0
			for b.Loop() {
				n = gridBytes(b, k, DefaultPrint())
			}
			b.ReportMetric(float64(n)/float64(len(k.Chart.Cells)), "bytes/cell")
			b.ReportMetric(float64(len(k.Chart.Runs()))/float64(len(k.Chart.Cells)), "runs/cell")
		})
	}
}

// Time to build the canvas of 224,000 drills, busier than photos are, against the time poppler takes to
// draw it at 100 dpi, both processor time.
func BenchmarkCanvasAgainstPoppler(b *testing.B) {
	checker.Need(b, "pdftoppm")
	k := testKit(b, 400, 560, 60, kit.Square)
	var build, draw time.Duration
	for b.Loop() {
		path := filepath.Join(b.TempDir(), "canvas.pdf")
		var out bytes.Buffer
		start := cpuTime()
		require.NoError(b, Canvas(&out, k, DefaultPrint()))
		build += cpuTime() - start
		require.NoError(b, os.WriteFile(path, out.Bytes(), 0o666))
		cmd := exec.Command("pdftoppm", "-r", "100", "-singlefile", path, filepath.Join(b.TempDir(), "page"))
		require.NoError(b, cmd.Run())
		draw += cmd.ProcessState.UserTime()
	}
	b.ReportMetric(build.Seconds()/draw.Seconds(), "build/draw")
	b.ReportMetric(draw.Seconds()/float64(b.N), "draw-s/op")
	b.ReportMetric(build.Seconds()/float64(b.N), "build-s/op")
}

// Peak memory of writing the canvas of a million drills of a busy picture, beyond what the chart
// itself takes.
func BenchmarkCanvasMemory(b *testing.B) {
	k := testKit(b, 1000, 1000, 60, kit.Square)
	k.Pitch = 2500
	peak := 0
	for b.Loop() {
		runtime.GC()
		debug.FreeOSMemory()
		before := resident(b, "VmRSS")
		if os.WriteFile("/proc/self/clear_refs", []byte("5"), 0o600) != nil {
			b.Skip("skipped: this system does not tell peak memory")
		}
		require.NoError(b, Canvas(io.Discard, k, DefaultPrint()))
		peak = max(peak, resident(b, "VmHWM")-before)
	}
	b.ReportMetric(float64(peak)/1e6, "peak-MB")
}

// resident returns a line of /proc/self/status in bytes.
func resident(b *testing.B, key string) int {
	s, err := os.ReadFile("/proc/self/status")
	if err != nil {
		b.Skip("skipped: this system does not tell memory")
	}
	for _, l := range strings.Split(string(s), "\n") {
		if rest, ok := strings.CutPrefix(l, key+":"); ok {
			var kb int
			_, err := fmt.Sscanf(rest, "%d kB", &kb)
			require.NoError(b, err)
			return kb * 1024
		}
	}
	b.Skip("skipped: this system does not tell " + key)
	return 0
}
