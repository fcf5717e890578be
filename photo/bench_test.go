package photo

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// bigJPEG is the demo photo enlarged to w x h with camera noise, as
// ImageMagick writes it; about 5 MB for 12 megapixels, as phones do.
func bigJPEG(b *testing.B, w, h int, args ...string) string {
	b.Helper()
	checker.Need(b, "convert")
	path := filepath.Join(b.TempDir(), "big.jpg")
	all := []string{"demo/cat.png", "-strip", "-resize", fmt.Sprintf("%dx%d!", w, h), "-attenuate", "0.3", "+noise", "Gaussian", "-quality", "92", "-sampling-factor", "2x2"}
	run(b, "convert", append(append(all, args...), path)...)
	return path
}

func readAndSample(b *testing.B, path string) {
	f, err := os.Open(path)
	require.NoError(b, err)
	defer f.Close()
	p, err := Read(context.Background(), f, Limits{})
	require.NoError(b, err)
	p.Sample(Crop{}, 160, 200)
}

// BenchmarkTwelveMegapixels brings a 12 megapixel JPEG to a grid of 160 x 200
// and has ImageMagick decode and resize the same file in turn, so that both see
// the same load. "ratio" is our wall time to its.
func BenchmarkTwelveMegapixels(b *testing.B) {
	for name, args := range map[string][]string{"baseline": nil, "progressive": {"-interlace", "JPEG"}} {
		b.Run(name, func(b *testing.B) {
			path := bigJPEG(b, 4032, 3024, args...)
			info, err := os.Stat(path)
			require.NoError(b, err)
			var ours, theirs time.Duration
			for b.Loop() {
				start := time.Now()
				readAndSample(b, path)
				ours += time.Since(start)
				start = time.Now()
				run(b, "convert", path, "-resize", "160x200!", filepath.Join(filepath.Dir(path), "small.png"))
				theirs += time.Since(start)
			}
			b.ReportMetric(ours.Seconds()/theirs.Seconds(), "ratio")
			b.ReportMetric(ours.Seconds()/float64(b.N), "ours-s")
			b.ReportMetric(float64(info.Size())/1e6, "MB-file")
		})
	}
}

// BenchmarkMemory reads large photos, each in a process of its own, and reports
// the most memory that was resident (VmHWM of Linux) and the processors' time
// of all of it: reading, sampling to 160 x 200, and for HEIC and AVIF making
// the decoder ready. (Time on the wall says little where others work, too.)
func BenchmarkMemory(b *testing.B) {
	for _, c := range []struct {
		name string
		make func(b *testing.B) string
	}{
		{"JPEG 48 Mpx", func(b *testing.B) string { return bigJPEG(b, 8064, 6048) }},
		{"JPEG 48 Mpx progressive", func(b *testing.B) string { return bigJPEG(b, 8064, 6048, "-interlace", "JPEG") }},
		{"JPEG 119 Mpx progressive, broken off", func(b *testing.B) string {
			path := vastJPEG(b)
			data, err := os.ReadFile(path)
			require.NoError(b, err)
			require.NoError(b, os.WriteFile(path, data[:len(data)*9/10], 0o666))
			return path
		}},
		{"AVIF 12 Mpx", func(b *testing.B) string {
			return bigCoded(b, "big.avif", "avifenc", "-s", "9", "-y", "420", "--min", "20", "--max", "30")
		}},
		{"AVIF 12 Mpx, 10 bits", func(b *testing.B) string {
			return bigCoded(b, "big.avif", "avifenc", "-s", "9", "-y", "420", "-d", "10", "--min", "20", "--max", "30")
		}},
		{"HEIC 12 Mpx in one piece", func(b *testing.B) string { return bigCoded(b, "big.heic", "heif-enc", "-q", "60") }},
		{"HEIC 12 Mpx in one piece, 10 bits", func(b *testing.B) string { return bigCoded(b, "big.heic", "heif-enc", "-q", "60", "-b", "10") }},
	} {
		b.Run(c.name, func(b *testing.B) {
			path := c.make(b)
			var peak, cpu float64
			for b.Loop() {
				cmd := exec.Command(os.Args[0], "-test.run", "xxx", "-test.bench", "^BenchmarkPeakOfOne$", "-test.benchtime", "1x")
				cmd.Env = append(os.Environ(), "PHOTO_TO_READ="+path)
				out, err := cmd.Output()
				require.NoError(b, err)
				m := regexp.MustCompile(`([\d.]+) peak-MB`).FindSubmatch(out)
				require.NotNil(b, m, "%s", out)
				v, err := strconv.ParseFloat(string(m[1]), 64)
				require.NoError(b, err)
				peak = max(peak, v)
				cpu += (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds()
			}
			b.ReportMetric(peak, "peak-MB")
			b.ReportMetric(cpu/float64(b.N), "cpu-s")
		})
	}
}

// bigCoded is bigJPEG's 12 megapixels as a phone's format: -o names the file
// for heif-enc, and avifenc takes it at the end.
func bigCoded(b *testing.B, name string, program string, args ...string) string {
	b.Helper()
	checker.Need(b, program, "convert")
	jpg := bigJPEG(b, 4032, 3024)
	out := filepath.Join(filepath.Dir(jpg), name)
	png := jpg + ".png"
	run(b, "convert", jpg, "-depth", "8", png)
	if program == "heif-enc" {
		args = append(args, png, "-o", out)
	} else {
		args = append(args, png, out)
	}
	run(b, program, args...)
	return out
}

// vastJPEG is a soft picture of 119 megapixels, progressive.
func vastJPEG(b *testing.B) string {
	b.Helper()
	checker.Need(b, "convert", "jpegtran")
	path := filepath.Join(b.TempDir(), "vast.jpg")
	run(b, "convert", "-size", "10900x10900", "gradient:tan-brown", "-quality", "75", "-sampling-factor", "2x2", path)
	require.NoError(b, os.WriteFile(path, run(b, "jpegtran", "-progressive", path), 0o666))
	return path
}

// BenchmarkPeakOfOne is the other process of BenchmarkMemory.
func BenchmarkPeakOfOne(b *testing.B) {
	path := os.Getenv("PHOTO_TO_READ")
	if path == "" {
		b.Skip("for BenchmarkMemory only")
	}
	for b.Loop() {
		readAndSample(b, path)
	}
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		b.Skip("no /proc here")
	}
	m := regexp.MustCompile(`VmHWM:\s+(\d+) kB`).FindSubmatch(status)
	require.NotNil(b, m)
	kb, err := strconv.ParseFloat(string(bytes.TrimSpace(m[1])), 64)
	require.NoError(b, err)
	b.ReportMetric(kb/1024, "peak-MB")
}
