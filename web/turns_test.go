package web

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Colors kept and left out are undone and made again in one chain with the
// drills that were set between them.
func TestOneChainOfUndo(t *testing.T) {
	o := openTable(t, Config{})
	id := o.made("40x30", "8")
	type view struct {
		Log        int
		Undo, Redo bool
		Legend     []struct{ Address string }
		Changes    []struct{ Act string }
		Keep       []string
	}
	var c view
	see := func(method, path string, body any) {
		t.Helper()
		c = view{}
		o.want(method, "/api/kits/"+id+path, body, &c)
		o.wait(id)
		c = view{}
		o.want("GET", "/api/kits/"+id+"/chart", nil, &c)
	}
	act := func(list ...map[string]any) {
		t.Helper()
		see("POST", "/edit", map[string]any{"log": c.Log, "edits": list})
	}
	state := func() []any {
		acts := []string{}
		for _, x := range c.Changes {
			acts = append(acts, x.Act)
		}
		return []any{o.kitOf(id).kept().Order["keep"], o.kitOf(id).kept().Order["avoid"], acts}
	}
	see("GET", "/chart", nil)
	first, last := c.Legend[0].Address, c.Legend[len(c.Legend)-1].Address
	states := [][]any{state()}
	act(map[string]any{"act": "set", "to": first, "box": []int{3, 3, 2, 1}})
	states = append(states, state())
	see("POST", "/turn", map[string]string{"act": "keep", "code": first})
	states = append(states, state())
	assert.Equal(t, []string{first}, c.Keep)
	act(map[string]any{"act": "set", "to": first, "box": []int{9, 3, 2, 1}})
	states = append(states, state())
	see("POST", "/turn", map[string]string{"act": "avoid", "code": last})
	states = append(states, state())
	for _, l := range c.Legend {
		assert.NotEqual(t, last, l.Address, "the kit is made without it")
	}
	assert.Equal(t, []any{first, last, []string{"avoid", "set", "keep", "set"}}, states[4])
	for i := 3; i >= 0; i-- {
		require.True(t, c.Undo)
		act(map[string]any{"act": "undo"})
		assert.Equal(t, states[i], state(), "undone to %d", i)
	}
	assert.False(t, c.Undo)
	for i := 1; i <= 4; i++ {
		require.True(t, c.Redo)
		act(map[string]any{"act": "redo"})
		assert.Equal(t, states[i], state(), "made again to %d", i)
	}
	assert.False(t, c.Redo)

	act(map[string]any{"act": "undo"})
	assert.True(t, c.Redo)
	act(map[string]any{"act": "set", "to": first, "box": []int{20, 3, 2, 1}})
	assert.False(t, c.Redo, "something else was changed")
	code, _ := o.ask("POST", "/api/kits/"+id+"/turn", map[string]string{"act": "avoid", "code": "no-such"})
	assert.GreaterOrEqual(t, code, 400)
	code, _ = o.ask("POST", "/api/kits/"+id+"/turn", map[string]string{"act": "burn", "code": first})
	assert.Equal(t, 400, code)
}
