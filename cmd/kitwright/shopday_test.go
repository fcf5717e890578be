package main

import (
	"bufio"
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// A shop's day: small orders (2 Mpx, 20 x 20 cm), as one batch by the program
// itself. Told are the processor time of an order against that of a run of its
// own, the memory in the first and the last quarter, how long an order took, and
// what it takes on the disk. KITWRIGHT_DAY says how many orders.
func BenchmarkShopDay(b *testing.B) {
	photos := checker.Folder(b, "KITWRIGHT_PHOTOS")
	n := 20
	if v := os.Getenv("KITWRIGHT_DAY"); v != "" {
		var err error
		n, err = strconv.Atoi(v)
		require.NoError(b, err)
	}
	exe, dir := program(b), b.TempDir()
	orders := shopDay(b, photos, dir, n)
	for b.Loop() {
		out := filepath.Join(dir, "kits")
		batch := exec.Command(exe, "batch", orders, "--out", out)
		var said bytes.Buffer
		batch.Stdout, batch.Stderr = &said, &said
		require.NoError(b, batch.Start())
		peaks := memoryOf(batch.Process.Pid, filepath.Join(out, "results.csv"), n)
		require.NoError(b, batch.Wait(), said.String())
		perOrder := (batch.ProcessState.UserTime() + batch.ProcessState.SystemTime()).Seconds() / float64(n)

		var single time.Duration
		const runs = 10
		for i := range runs {
			one := exec.Command(exe, "chart", filepath.Join(dir, photoOf(i*n/runs)), "--size", "20x20cm", "--quiet", "--out", filepath.Join(dir, "one"+strconv.Itoa(i)))
			require.NoError(b, one.Run())
			single += one.ProcessState.UserTime() + one.ProcessState.SystemTime()
			require.NoError(b, os.RemoveAll(filepath.Join(dir, "one"+strconv.Itoa(i))))
		}
		b.ReportMetric(perOrder, "cpu-s/order")
		b.ReportMetric(single.Seconds()/runs, "cpu-s/single")
		b.ReportMetric(perOrder*runs/single.Seconds(), "ratio")
		b.ReportMetric(float64(slices.Max(peaks[0]))/1024, "MB-first-quarter")
		b.ReportMetric(float64(slices.Max(peaks[3]))/1024, "MB-last-quarter")
		times := regexp.MustCompile(`It took (\S+) s; one kit (\S+) s, and 99 of 100 at most (\S+) s`).FindStringSubmatch(said.String())
		require.NotNil(b, times, said.String())
		for i, unit := range []string{"", "wall-s", "p50-s", "p99-s"} {
			if v, err := strconv.ParseFloat(times[i], 64); i > 0 && err == nil {
				b.ReportMetric(v, unit)
			}
		}
		b.ReportMetric(float64(sizeOf(b, out))/float64(n)/1e6, "MB-disk/order")
		require.NoError(b, os.RemoveAll(out))
	}
}

func photoOf(i int) string { return fmt.Sprintf("photo%02d.jpg", i%100) }

// shopDay writes a table of orders and up to a hundred photos: parts of open
// ones, of two million pixels each.
func shopDay(b *testing.B, photos, dir string, n int) (orders string) {
	var table strings.Builder
	table.WriteString("photo,name,size,title\n")
	for i := range n {
		fmt.Fprintf(&table, "%s,order %04d,20x20cm,No. %d\n", photoOf(i), i, i)
		if i >= 100 {
			continue
		}
		m, err := imaging.Open(filepath.Join(photos, openPhotos[i%3])) // the fourth is a rocket
		require.NoError(b, err)
		w, h := m.Bounds().Dx()*3/4, m.Bounds().Dy()*3/4
		x, y := m.Bounds().Dx()*i/400, m.Bounds().Dy()*i/400
		m = imaging.Crop(m, image.Rect(x, y, x+w, y+h))
		f, err := os.Create(filepath.Join(dir, photoOf(i)))
		require.NoError(b, err)
		require.NoError(b, jpeg.Encode(f, imaging.Fill(m, 1632, 1224, imaging.Center, imaging.CatmullRom), &jpeg.Options{Quality: 88}))
		require.NoError(b, f.Close())
	}
	orders = filepath.Join(dir, "orders.csv")
	require.NoError(b, os.WriteFile(orders, []byte(table.String()), 0o666))
	return orders
}

// memoryOf watches the resident memory of a process, in KB, until it ends:
// everything seen in each quarter of its orders.
func memoryOf(pid int, results string, n int) (quarters [4][]int) {
	quarters = [4][]int{{0}, {0}, {0}, {0}}
	for {
		status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
		_, rest, ok := strings.Cut(string(status), "VmRSS:")
		if err != nil || !ok { // a process that has ended has no memory
			return quarters
		}
		kb, _ := strconv.Atoi(strings.Fields(rest)[0])
		done := 0
		if f, err := os.Open(results); err == nil {
			for s := bufio.NewScanner(f); s.Scan(); {
				done++
			}
			f.Close()
		}
		q := min(3, max(0, done-1)*4/n)
		quarters[q] = append(quarters[q], kb)
		time.Sleep(200 * time.Millisecond)
	}
}

// sizeOf is what all files of a folder hold.
func sizeOf(b *testing.B, dir string) (size int64) {
	require.NoError(b, filepath.WalkDir(dir, func(_ string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			var info fs.FileInfo
			if info, err = d.Info(); err == nil {
				size += info.Size()
			}
		}
		return err
	}))
	return size
}
