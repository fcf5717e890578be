package kit

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/palettes"
)

// small returns a kit of 3 x 2 drills.
func small(t testing.TB) *Kit {
	card := &palettes.Card{Name: "seaside.csv"}
	for i, rgb := range [][3]uint8{{200, 120, 40}, {20, 20, 25}, {250, 240, 230}} {
		card.Drills = append(card.Drills, palettes.Drill{
			Code: []string{"SR-001", "SR-002", "SR-003"}[i], Name: "color <" + string(rune('a'+i)) + ">", RGB: rgb, Lab: lab.FromSRGB(rgb).Round(),
		})
	}
	c, err := chart.New(3, 2, card, []int{0, 1, 2}, []uint16{0, 1, 1, 2, 0, 0})
	require.NoError(t, err)
	o := DefaultOrder()
	return &Kit{
		Title: "\"cells\" } & <more>", Order: o.Settings(), Print: map[string]string{"look": "tint"},
		Drill: Drill{Square, 2500}, Pitch: 2500, Card: CardRef{Name: card.Name, SHA256: "0"}, Chart: c,
		Quality: Quality{MeanMiss: 1.25, Confetti: 0.5}, Photo: PhotoRef{Name: "ginger.jpg", SHA256: "1"},
	}
}

func TestJSONReadsBack(t *testing.T) {
	k := small(t)
	var b bytes.Buffer
	require.NoError(t, k.WriteJSON(&b))
	assert.True(t, json.Valid(b.Bytes()))
	back, err := ReadJSON(bytes.NewReader(b.Bytes()))
	require.NoError(t, err)
	assert.Equal(t, k, back)
}

// A kit.json edited by hand is used only if it still adds up.
func TestJSONEditedByHand(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, small(t).WriteJSON(&b))
	good := b.String()
	for _, c := range []struct{ name, old, new, want string }{
		{"a count", `"drills": 3`, `"drills": 4`, "counts 4 drills"},
		{"a cell", "[1,2,2]", "[1,2,4]", "drill of color 4"},
		{"a cell of no color", "[1,2,2]", "[1,2,0]", "drill of color 0"},
		{"a row too short", "[2,1,1]", "[2,1]", "row 1 has 2"},
		{"a row too many", "[2,1,1]", "[2,1,1],[2,1,1]", "not 2 rows"},
		{"a newer version", `"version": 1`, `"version": 99`, "version 99"},
		{"no version", `"version": 1`, `"version": 0`, "no version"},
		{"a grid of nothing", `"cols": 3`, `"cols": 0`, "grid of 0"},
		{"an absurd grid", `"cols": 3`, `"cols": 3000000`, "grid of 3000000"},
		{"a pitch of nothing", `"pitch_mm": 2.5`, `"pitch_mm": 0`, "pitch"},
		{"a negative pitch", `"pitch_mm": 2.5`, `"pitch_mm": -2.5`, "pitch"},
		{"a color", `"#fa`, `"#xy`, "not a color"},
		{"a shape", `"shape": "square"`, `"shape": "oval"`, "drill"},
		{"cut off", "\n  ]\n}\n", "", "not JSON as kitwright writes it, from line"},
		{"something else", good, "a shopping list", "not JSON"},
		{"nothing", good, "", "not JSON"},
	} {
		bad := strings.Replace(good, c.old, c.new, 1)
		if c.old == "[1,2,2]" || c.old == "[2,1,1]" { // whichever row it is
			bad = strings.Replace(good, "[2,1,1]", c.new, 1)
		}
		require.NotEqual(t, good, bad, c.name)
		_, err := ReadJSON(strings.NewReader(bad))
		var said *say.Error
		if assert.True(t, errors.As(err, &said), "%s: %v", c.name, err) {
			assert.NotEmpty(t, said.Try, c.name)
			assert.Contains(t, said.What, c.want, c.name)
		}
	}
}

func FuzzReadJSON(f *testing.F) {
	var b bytes.Buffer
	require.NoError(f, small(f).WriteJSON(&b))
	f.Add(b.Bytes())
	f.Add([]byte(`{"version":1}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		k, err := ReadJSON(bytes.NewReader(data))
		if err != nil {
			return
		}
		var once, twice bytes.Buffer
		require.NoError(t, k.WriteJSON(&once))
		back, err := ReadJSON(bytes.NewReader(once.Bytes()))
		require.NoError(t, err)
		require.NoError(t, back.WriteJSON(&twice))
		require.Equal(t, once.String(), twice.String())
	})
}

// An edited chart has gaps in its numbers; they come back as they are, in all
// three files.
func TestJSONKeepsGapsInNumbers(t *testing.T) {
	k := small(t)
	drills := []palettes.Drill{k.Chart.Legend[0].Drill, k.Chart.Legend[1].Drill, {Code: "+1+2", Name: "=sum", Finish: "-x", Lab: lab.Color{L: 40}}}
	c, err := chart.Recolor(k.Chart, drills, []uint16{1, 0, 0, 2, 1, 2})
	require.NoError(t, err)
	k.Chart = c
	assert.Equal(t, []int{1, 2, 4}, []int{c.Legend[0].Number, c.Legend[1].Number, c.Legend[2].Number})
	var b, rows, list bytes.Buffer
	require.NoError(t, k.WriteJSON(&b))
	back, err := ReadJSON(&b)
	require.NoError(t, err)
	assert.Equal(t, k, back)
	require.NoError(t, k.WriteChartCSV(&rows))
	assert.Equal(t, "2,1,1\n4,2,4\n", rows.String())
	require.NoError(t, k.WriteKitCSV(&list))
	assert.Contains(t, list.String(), "\n4,"+string(c.Legend[2].Symbol.Rune)+","+c.Legend[2].Symbol.Name+",'+1+2,'=sum,'-x,#000000,2,20,22,,,,,,,\n", "words that a spreadsheet would run are guarded, numbers stay numbers")
}

// A byte order mark and other spaces are let pass: editors write them.
func TestJSONFromAnEditor(t *testing.T) {
	k := small(t)
	var b, compact bytes.Buffer
	require.NoError(t, k.WriteJSON(&b))
	require.NoError(t, json.Compact(&compact, b.Bytes()))
	var wide bytes.Buffer
	require.NoError(t, json.Indent(&wide, b.Bytes(), "\r\n", "\t"))
	for _, data := range []string{"\ufeff" + b.String(), compact.String(), wide.String(), "\n " + b.String() + "\r\n"} {
		back, err := ReadJSON(strings.NewReader(data))
		require.NoError(t, err)
		assert.Equal(t, k, back)
	}
}

// Words of settings and files can hold anything: what no page shows becomes a
// blank. The first version let titles be as long as they were.
func TestJSONTamesWords(t *testing.T) {
	k := small(t)
	k.Photo.Name, k.Card.Name, k.Advice = "a\x1b[2Jb.png", "mine\x07.csv", []string{"look \x1b]0;x\x07"}
	k.Order["card"] = "mine\x07.csv"
	k.Title = strings.Repeat("long ", 100)
	var b bytes.Buffer
	require.NoError(t, k.WriteJSON(&b))
	back, err := ReadJSON(&b)
	require.NoError(t, err)
	assert.Equal(t, "a [2Jb.png", back.Photo.Name)
	assert.Equal(t, "mine .csv", back.Card.Name)
	assert.Equal(t, "mine .csv", back.Order["card"])
	assert.Equal(t, []string{"look  ]0;x "}, back.Advice)
	assert.Len(t, back.Title, 120)
}
