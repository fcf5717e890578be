package shelf

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
	"kitwright/palettes"
)

func card(code string) *palettes.Card {
	return &palettes.Card{Source: "made up", Drills: []palettes.Drill{palettes.NewDrill(code, code, lab.Color{L: 50})}}
}

func TestAddOpenRemove(t *testing.T) {
	s := Shelf{Dir: filepath.Join(t.TempDir(), "home")}
	assert.Empty(t, s.Names())
	path, err := s.Add("Seaside", card("SR-1"), false)
	require.NoError(t, err)
	assert.FileExists(t, path)
	_, err = s.Add("möwe_2", card("SR-2"), false)
	require.NoError(t, err)
	assert.Equal(t, []string{"Seaside", "möwe_2"}, s.Names())

	c, err := s.Open("seaside")
	require.NoError(t, err)
	assert.Equal(t, "Seaside", c.Name)
	assert.Equal(t, "made up", c.Source)
	assert.Equal(t, card("SR-1").Drills, c.Drills)

	// nothing is overwritten unasked, in whatever capitals
	_, err = s.Add("SEASIDE", card("SR-9"), false)
	assert.EqualError(t, err, `you keep a card called "SEASIDE" already`)
	c, err = s.Open("Seaside")
	require.NoError(t, err)
	assert.Equal(t, "SR-1", c.Drills[0].Code)

	// what is replaced or removed lies in the trash
	_, err = s.Add("Seaside", card("SR-9"), true)
	require.NoError(t, err)
	to, err := s.Remove("seaside")
	require.NoError(t, err)
	assert.Equal(t, filepath.Join(s.Dir, "trash", "Seaside-2.csv"), to)
	first, err := os.ReadFile(filepath.Join(s.Dir, "trash", "Seaside-1.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(first), "SR-1")
	assert.Equal(t, []string{"möwe_2"}, s.Names())
	_, err = s.Remove("Seaside")
	assert.Error(t, err)
	_, err = s.Open("Seaside")
	assert.Error(t, err)
	left, err := os.ReadDir(s.cards())
	require.NoError(t, err)
	assert.Len(t, left, 1, "nothing half-written stays")
}

func TestNames(t *testing.T) {
	for _, name := range []string{"a", "seaside-2", "Möwe", "7up", "色"} {
		assert.NoError(t, CheckName(name), name)
	}
	for _, name := range []string{"", "munsell", "NBS", "../x", "a/b", `a\b`, ".hidden", "-x", "con", "a b", "a.csv", "a\x00", "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"} {
		assert.Error(t, CheckName(name), "%q", name)
	}
}

func TestNoFolder(t *testing.T) {
	_, err := Shelf{}.Add("a", card("A"), false)
	assert.ErrorContains(t, err, "names no folder")
	assert.Empty(t, Shelf{}.Names())
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o644))
	_, err = Shelf{Dir: file}.Add("a", card("A"), false)
	assert.Error(t, err)
}
