package main

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"slices"

	"github.com/spf13/pflag"

	"kitwright/internal/measure"
	"kitwright/internal/shell"
	"kitwright/kit"
	"kitwright/photo"
)

// shellLine writes a command as it can be typed.
func shellLine(words ...string) string { return shell.Line(words...) }

// chartOf returns the words of the chart that a run leads to: the flags she
// gave it, as far as a chart has them, then the photo.
func chartOf(fs *pflag.FlagSet, args []string, extra ...string) []string {
	chart := pflag.NewFlagSet("chart", pflag.ContinueOnError)
	chartCommand().bind(chart)
	words := []string{"kitwright", "chart"}
	fs.VisitAll(func(f *pflag.Flag) {
		if !f.Changed || chart.Lookup(f.Name) == nil || slices.Contains([]string{"out", "force", "quiet", "colors"}, f.Name) {
			return
		}
		if f.Value.Type() == "bool" {
			words = append(words, "--"+f.Name)
			return
		}
		words = append(words, "--"+f.Name, f.Value.String())
	})
	words = append(words, extra...)
	for _, a := range args {
		words = append(words, argument(a))
	}
	return words
}

// argument returns a path that no flag can be mistaken for.
func argument(path string) string { return shell.Argument(path) }

// sameGridAt returns the words of the chart that has the drills of a kit at
// another distance. The photo stands by its name: where it lies, a kit does not
// know.
func sameGridAt(k *kit.Kit, pitch measure.Length) []string {
	usual := kit.DefaultOrder()
	fs := pflag.NewFlagSet("order", pflag.ContinueOnError)
	usual.Bind(fs)
	grid := kit.Cells{Cols: k.Chart.Cols, Rows: k.Chart.Rows}
	words := []string{"kitwright", "chart", "--grid", grid.String(), "--pitch", pitch.String()}
	fs.VisitAll(func(f *pflag.Flag) {
		set, known := k.Order[f.Name]
		if known && set != f.DefValue && !slices.Contains([]string{"size", "grid", "pitch"}, f.Name) {
			words = append(words, "--"+f.Name, set)
		}
	})
	if demo := sha256.Sum256(photo.Demo()); k.Photo.SHA256 == hex.EncodeToString(demo[:]) {
		return append(words, "--demo")
	}
	return append(words, argument(k.Photo.Name))
}

// sum returns the SHA-256 of the photo's file, and leaves it at its begin.
func (s *photoSource) sum() (string, error) {
	sum := sha256.New()
	if _, err := io.Copy(sum, s.file); err != nil {
		return "", err
	}
	back, ok := s.file.(io.Seeker)
	if !ok {
		return "", os.ErrInvalid
	}
	_, err := back.Seek(0, io.SeekStart)
	return hex.EncodeToString(sum.Sum(nil)), err
}
