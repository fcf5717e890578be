package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// A look leads to a chart with the boxes that were looked at.
func TestLook(t *testing.T) {
	checker.Slow(t)
	inTemp(t)
	code, out, errs := kitwright(t, "look", "--demo", "--grid", "40x30", "--subject", "E3-P19", "--focus", "F6-H7")
	require.Equal(t, 0, code, errs)
	assert.Equal(t, []string{"cat-look.png"}, names(t, "."))
	assert.True(t, bytes.HasPrefix(read(t, "cat-look.png"), []byte("\x89PNG")))
	assert.Equal(t, "kitwright chart --demo --grid 40x30 --subject 20,10,60,85 --focus 25,25,15,10", commandIn(t, out, "kitwright chart"))
	code, out, errs = kitwright(t, "look", "--demo", "--force", "--subject", "A1-R20", "--add", "A1-B2", "--cut", "S1-T9", "--cut", "40,40,10,10")
	require.Equal(t, 0, code, errs)
	assert.Equal(t, "kitwright chart --demo --subject 0,0,90,100 --add 0,0,10,10 --cut '90,0,10,45;40,40,10,10'", commandIn(t, out, "kitwright chart"))
	assert.Contains(t, out, "Your pet's outline takes ")
	was := read(t, "cat-look.png")
	code, out, errs = kitwright(t, "look", "--demo", "--crop", "A1-J20")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "cat-look-2.png  ", "it says itself to look again")
	assert.Equal(t, was, read(t, "cat-look.png"))
	code, _, errs = kitwright(t, "look", "--demo", "-o", "cat-look.png")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "exists already")
	code, _, errs = kitwright(t, "look", "--demo", "--force", "--quiet", "--crop", "A1-J20")
	assert.Equal(t, 0, code, errs)
	code, _, errs = kitwright(t, "look", "--demo", "--force", "--subject", "Z9-Y1")
	assert.Equal(t, 2, code)
	assert.Contains(t, errs, "kitwright look draws")
}
