package main

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// openPhotos are scikit-image's.
var openPhotos = []string{"chelsea.png", "astronaut.png", "coffee.png", "rocket.jpg"}

func benchmark(b *testing.B, args ...string) {
	b.Helper()
	dir := b.TempDir()
	for i := 0; b.Loop(); i++ {
		var out, errs bytes.Buffer
		all := append(args, "--quiet", "--out", filepath.Join(dir, strings.Repeat("x", i+1)))
		require.NoError(b, run(context.Background(), all, strings.NewReader(""), &out, &errs))
	}
}

// The whole ladder of seven rungs and the recommended one, with its pictures.
func BenchmarkLadder(b *testing.B) {
	photos := checker.Folder(b, "KITWRIGHT_PHOTOS")
	for _, name := range openPhotos {
		b.Run(name, func(b *testing.B) { benchmark(b, "ladder", filepath.Join(photos, name), "--grid", "160x200") })
	}
}

// A whole kit folder.
func BenchmarkChart(b *testing.B) {
	photos := checker.Folder(b, "KITWRIGHT_PHOTOS")
	for _, grid := range []string{"160x200", "400x560"} {
		for _, name := range openPhotos {
			b.Run(grid+"/"+name, func(b *testing.B) { benchmark(b, "chart", filepath.Join(photos, name), "--grid", grid) })
		}
	}
}
