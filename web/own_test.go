package web

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/measure"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/stash"
)

// owner fills her stash with plenty of some colors of the card, in the demo's
// shape and size.
func (o *opened) owner(colors, drills int) {
	o.t.Helper()
	l, err := o.ledger()
	require.NoError(o.t, err)
	card, err := palettes.Named(kit.DefaultOrder().Card)
	require.NoError(o.t, err)
	var all []stash.Amount
	for i := range colors { // spread over the card
		d := card.Drills[i*len(card.Drills)/colors]
		all = append(all, stash.Amount{Key: stash.Key{Card: card.Name, Code: d.Code, Finish: d.Finish, Shape: "square", Size: 25 * measure.Millimeter / 10}, Drills: drills})
	}
	_, err = l.Add(context.Background(), "2026-11-26", all...)
	require.NoError(o.t, err)
}

// Only what she owns: the kit takes no drill that is not in the stash, its
// bytes are the command's of the same order and stash, what she buys comes to
// the stash, and the list follows.
func TestOnlyWhatSheOwns(t *testing.T) {
	o := openTable(t, Config{Home: t.TempDir()})
	id := o.made("40x30", "8")
	own := map[string]any{"order": map[string]string{"own": "true"}}
	code, body := o.ask("POST", "/api/kits/"+id+"/order", own)
	assert.Equal(t, 422, code)
	assert.Contains(t, string(body), "no drills of this card")
	o.owner(40, 300)
	o.want("POST", "/api/kits/"+id+"/order", own, nil)
	var state struct {
		Command string
		Kit     struct{ Stale bool }
	}
	o.want("GET", "/api/kits/"+id, nil, &state)
	assert.True(t, state.Kit.Stale, "it was chosen from any color")
	assert.Contains(t, state.Command+" ", " --own ")
	o.want("POST", "/api/kits/"+id+"/choose", map[string]any{"colors": "8", "make": true}, nil)
	o.wait(id)
	k, err := o.kitOf(id).need()
	require.NoError(t, err)
	require.NotNil(t, k.Own)
	for _, l := range k.Chart.Legend {
		assert.LessOrEqual(t, l.Count, k.Owned()[l.Drill.Address()], l.Drill.Code)
	}
	wanted, err := o.wanted(o.kitOf(id).kept())
	require.NoError(t, err)
	alike(t, theSame(t, wanted.Settings()), filesOf(t, o.lib.path(id, "cat-kit")))

	var list struct {
		Helps []struct{ Code string }
		Lines []struct {
			Address      string
			Owned, Ready int
		}
	}
	o.want("GET", "/api/kits/"+id, nil, &state)
	assert.False(t, state.Kit.Stale)
	o.want("GET", "/api/kits/"+id+"/drills", nil, &list)
	assert.NotEmpty(t, list.Helps, "a bag that helps most")
	first := list.Lines[0]
	o.want("POST", "/api/kits/"+id+"/own", map[string]any{"address": first.Address, "drills": 200, "bought": true}, &list)
	assert.Equal(t, first.Owned+200, list.Lines[0].Owned)
	o.want("GET", "/api/kits/"+id, nil, &state)
	assert.True(t, state.Kit.Stale, "there is more to choose from now")

	// Bags as they are sold are told beside each rung.
	o.want("POST", "/api/kits/"+id+"/order", map[string]any{"order": map[string]string{"own": "false"}, "print": map[string]string{"bags": "200:0.50, 1000:1.80"}, "ladder": true}, nil)
	o.wait(id)
	var ladder struct {
		Rungs []struct{ Bags, Price string }
	}
	o.want("GET", "/api/kits/"+id+"/ladder", nil, &ladder)
	require.NotEmpty(t, ladder.Rungs)
	for _, r := range ladder.Rungs {
		assert.True(t, strings.ContainsAny(r.Bags, "123456789"), r.Bags)
		assert.NotEmpty(t, r.Price)
	}
}
