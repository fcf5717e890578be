package web

import (
	"strconv"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every request looks at what is kept on the disk. A look that began before a
// change does not take that back.
func TestALookTakesNoChangeBack(t *testing.T) {
	o := openTable(t, Config{})
	id := o.demo("40x30")
	e := o.kitOf(id)
	over := make(chan struct{})
	var all sync.WaitGroup
	for range 3 {
		all.Go(func() {
			for {
				select {
				case <-over:
					return
				default:
					_, err := o.lib.get(id)
					assert.NoError(t, err)
				}
			}
		})
	}
	back := 0
	for i := range 30 {
		title := strconv.Itoa(i)
		require.NoError(t, e.keep(func(st *stored) { st.Order["title"] = title }))
		for range 20 {
			if e.kept().Order["title"] != title {
				back++
			}
		}
	}
	close(over)
	all.Wait()
	assert.Zero(t, back)
}

// A table.json without settings, as nobody but a person writes it, means what is
// usual.
func TestATableWithoutSettings(t *testing.T) {
	o := openTable(t, Config{})
	id := o.demo("40x30")
	e := o.kitOf(id)
	require.NoError(t, e.keep(func(st *stored) { st.Order, st.Print = nil, nil }))
	_, err := o.lib.get(id)
	require.NoError(t, err)
	require.NoError(t, e.keep(func(st *stored) { st.Order["title"], st.Print["paper"] = "Ginger", "a4" }))
	assert.Equal(t, "Ginger", e.kept().Order["title"])
}
