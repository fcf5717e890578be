package photo

import (
	"context"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// dice is a fixed sequence of numbers in 0..n-1.
type dice uint32

func (s *dice) next(n int) int {
	*s = *s*1664525 + 1013904223
	return int(*s>>8) % n
}

func TestMaskBoxAndCount(t *testing.T) {
	m := &Mask{Cols: 5, Rows: 4, In: make([]bool, 20)}
	m.In[7], m.In[13] = true, true
	x0, y0, x1, y1 := m.Box()
	assert.Equal(t, [4]int{2, 1, 4, 3}, [4]int{x0, y0, x1, y1})
	assert.Equal(t, 2, m.Count())
	x0, y0, x1, y1 = (&Mask{Cols: 2, Rows: 2, In: make([]bool, 4)}).Box()
	assert.True(t, x0 == x1 && y0 == y1)
}

func TestWithin(t *testing.T) {
	p := &Photo{Width: 200, Height: 100}
	e := Ellipse{25, 20, 50, 40}
	assert.Equal(t, e, p.Within(Crop{}, e))
	assert.Equal(t, e, p.Within(p.Whole(), e))
	assert.Equal(t, Ellipse{0, 0, 100, 80}, p.Within(Crop{50, 20, 100, 50}, e))
}

func read(t testing.TB, path string) *Photo {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	p, err := Read(context.Background(), f, Limits{})
	require.NoError(t, err)
	return p
}
