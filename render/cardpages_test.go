package render

import (
	"fmt"
	"io"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
)

// Codes of one to twelve characters, digits, letters or a word, stand whole on
// legend, labels, lids and swatches, with the finish where it is not plain.
func TestCodesOfAnyLength(t *testing.T) {
	checker.Need(t, "pdftotext")
	codes := []string{"7", "007", "B52", "SR-041", "123456789012", "SEAFOAMGREEN", "5YR 6/8"}
	k := testKit(t, 20, 15, len(codes)+1, kit.Square)
	for i, c := range codes {
		k.Chart.Legend[i].Drill.Code, k.Chart.Legend[i].Drill.Name = c, "name"
	}
	twin := &k.Chart.Legend[len(codes)].Drill
	twin.Code, twin.Name, twin.Finish = "SR-041", "the same", "AB"
	card := &palettes.Card{Name: "mine"}
	for _, e := range k.Chart.Legend {
		card.Drills = append(card.Drills, e.Drill)
	}
	p := DefaultPrint()
	lids := p
	lids.LabelRound.Given, lids.LabelRound.Length = true, 40000
	for name, write := range map[string]func(io.Writer) error{
		"legend": func(w io.Writer) error { return Legend(w, k, p) }, "labels": func(w io.Writer) error { return Labels(w, k, p) },
		"lids":   func(w io.Writer) error { return Labels(w, k, lids) },
		"canvas": func(w io.Writer) error { return Canvas(w, k, p) }, "swatches": func(w io.Writer) error { return Swatches(w, card, p) },
	} {
		out, err := exec.Command("pdftotext", "-raw", pdfFile(t, write), "-").Output()
		require.NoError(t, err)
		text := string(out)
		for _, c := range codes {
			assert.Contains(t, text, c, name)
		}
		if name == "swatches" {
			assert.Contains(t, text, "AB", name)
			continue
		}
		assert.Contains(t, text, "SR-041/AB", name)
	}
}

// A card of many colors flows over pages; one that is empty is refused.
func TestSwatchesFlow(t *testing.T) {
	card := &palettes.Card{Name: "many"}
	for i := range 200 {
		card.Drills = append(card.Drills, palettes.NewDrill(fmt.Sprintf("SR-%03d", i+1), strings.Repeat("long ", 20), lab.Color{L: float64(i) / 2}))
	}
	checker.Need(t, "pdfinfo")
	out, err := exec.Command("pdfinfo", pdfFile(t, func(w io.Writer) error { return Swatches(w, card, DefaultPrint()) })).Output()
	require.NoError(t, err)
	assert.Contains(t, string(out), "Pages:           4")
	assert.Error(t, Swatches(io.Discard, &palettes.Card{}, DefaultPrint()))
	assert.Contains(t, MeasuringTime(40, 1), "20 minutes")
	assert.Contains(t, MeasuringTime(400, 10), "3.5 hours")
}
