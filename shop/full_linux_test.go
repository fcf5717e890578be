package shop_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/shop"
)

// A disk that is full in the middle: what was made before stays whole, what
// could not be made leaves nothing and says why, and once there is room the
// rest is made, and told, by a run again.
func TestFullDiskInTheMiddle(t *testing.T) {
	checker.Slow(t)
	if os.Getuid() != 0 {
		t.Skip("only root makes a small disk")
	}
	const n = 4
	var table strings.Builder
	table.WriteString("photo,name\n")
	for i := range n {
		fmt.Fprintf(&table, "cat%d.png,order %d\n", i%3, i)
	}
	s, orders := place(t, table.String())
	s.Out = filepath.Join(s.Dir, "disk")
	require.NoError(t, os.Mkdir(s.Out, 0o777))
	if err := syscall.Mount("tmpfs", s.Out, "tmpfs", 0, "size=1M"); err != nil {
		t.Skip("no small disk can be made here:", err)
	}
	defer func() { assert.NoError(t, syscall.Unmount(s.Out, 0)) }()
	s.Jobs = 1
	first := run(t, s, orders, shop.Part{})
	made := 0
	for name, r := range first {
		if r.Status == shop.Made {
			made++
			continue
		}
		assert.Contains(t, r.Reason, "no space left on device", name)
		assert.NotEmpty(t, r.Hint)
		assert.NoDirExists(t, filepath.Join(s.Out, name))
	}
	assert.Positive(t, made)
	assert.Less(t, made, n)
	hidden, err := filepath.Glob(filepath.Join(s.Out, ".*"))
	require.NoError(t, err)
	assert.Empty(t, hidden, "nothing is left of what was begun")

	require.NoError(t, syscall.Mount("tmpfs", s.Out, "tmpfs", syscall.MS_REMOUNT, "size=64M"))
	for name, r := range run(t, s, orders, shop.Part{}) {
		want := shop.Made
		if first[name].Status == shop.Made {
			want = shop.Same
		}
		assert.Equal(t, want, r.Status, name)
	}
	g, err := shop.Gather(s.Out)
	require.NoError(t, err)
	assert.Len(t, g.Results, n)
	assert.Empty(t, g.Missing)
}
