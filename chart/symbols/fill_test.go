package symbols

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A square from the middle to the right and bottom edges of the box, with a
// hole by the even-odd rule: half a cell of 4 pixels is 1 pixel of box .5.
func TestCoverageIsExactOnTheGrid(t *testing.T) {
	s := Symbol{Paths: []Path{{{{0, 0}, {1, 0}, {1, 1}, {0, 1}}}}}
	assert.Equal(t, []uint8{
		0, 0, 0, 0,
		0, 0, 0, 0,
		0, 0, 255, 0,
		0, 0, 0, 0,
	}, s.Coverage(4, .5))
	assert.Equal(t, []uint8{
		0, 0,
		0, 64, // a quarter of 255, rounded
	}, s.Coverage(2, .5))
	s.Paths[0] = append(s.Paths[0], []Point{{0, 0}, {.5, 0}, {.5, 1}, {0, 1}})
	assert.Equal(t, uint8(128), s.Coverage(4, .5)[10], "the left half is a hole")
	s.Paths = append(s.Paths, Path{{{0, 0}, {1, 0}, {1, .5}, {0, .5}}})
	assert.Equal(t, uint8(191), s.Coverage(4, .5)[10], "another path adds to it: union")
}

func TestCoverageKeepsTheArea(t *testing.T) {
	for _, px := range []int{4, 9, 30, 100} {
		sum := 0
		for _, c := range mustFind(t, "two dots").Coverage(px, Box) {
			sum += int(c)
		}
		// two circles of .46 of half the box
		assert.InDelta(t, 2*3.14159*.46*.46/4*Box*Box, float64(sum)/255/float64(px*px), .004, "%d px", px)
	}
}

func mustFind(t *testing.T, name string) Symbol {
	t.Helper()
	for _, s := range table {
		if s.Name == name {
			return s
		}
	}
	t.Fatalf("no symbol is called %s", name)
	return Symbol{}
}
