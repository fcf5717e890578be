package workbook

import (
	"bytes"
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"kitwright/chart"
	"kitwright/internal/checker"
	"kitwright/internal/measure"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/plan"
	"kitwright/render"
)

// odd is a kit whose codes and names look like numbers, dates and formulas.
func odd(t testing.TB) *kit.Kit {
	card := &palettes.Card{Name: "odd", Drills: []palettes.Drill{
		{Code: "0012", Name: "1-2", RGB: [3]uint8{10, 10, 10}}, {Code: "=1+1", Name: "@sum", RGB: [3]uint8{250, 250, 250}},
		{Code: "3E5", Name: "sea, \"calm\"", RGB: [3]uint8{90, 140, 160}}, {Code: "SR-041", Name: "TRUE", Finish: "AB", RGB: [3]uint8{200, 120, 40}},
	}}
	for i := range card.Drills {
		card.Drills[i].Lab.L = float64(20 * (i + 1))
	}
	const cols, rows = 60, 50
	cells := make([]uint16, cols*rows)
	for i := range cells {
		cells[i] = uint16(i % 7 % 4)
	}
	c, err := chart.New(cols, rows, card, []int{0, 1, 2, 3}, cells)
	require.NoError(t, err)
	return &kit.Kit{Title: "Ginger", Drill: kit.Drill{Shape: kit.Square, Size: 2500}, Pitch: 2500 * measure.Micrometer, Chart: c, Card: kit.CardRef{Name: "odd"},
		YourCodes: map[string]string{"0012": "007", "=1+1": "-5", "SR-041/AB": "2026-11-26"}}
}

func printOf(t testing.TB) render.Print {
	p := render.DefaultPrint()
	require.NoError(t, p.Bags.Set("200:0.50,1000:1.80"))
	require.NoError(t, p.Weighed.Set("500=4.2g"))
	p.Copies = 2
	return p
}

func bytesOf(t testing.TB, k *kit.Kit, p render.Print) []byte {
	var b bytes.Buffer
	require.NoError(t, Write(&b, k, p))
	return b.Bytes()
}

func TestSameBytes(t *testing.T) {
	k, p := odd(t), printOf(t)
	first := bytesOf(t, k, p)
	for range 20 {
		require.True(t, bytes.Equal(first, bytesOf(t, k, p)))
	}
}

// Sums are formulas, and carry the value that they come to.
func TestSumsAreFormulas(t *testing.T) {
	k, p := odd(t), printOf(t)
	f, err := excelize.OpenReader(bytes.NewReader(bytesOf(t, k, p)))
	require.NoError(t, err)
	defer f.Close()
	total := plan.List(k.Chart, p.Supply, nil).Total
	for cell, want := range map[string]int{"I6": 3000, "J6": total.Extra, "K6": total.Buy, "L6": total.Bags[0], "M6": total.Bags[1], "N6": total.InBags, "P6": total.Left} {
		formula, err := f.GetCellFormula(ListSheet, cell)
		require.NoError(t, err)
		assert.Equal(t, "SUM("+cell[:1]+"2:"+cell[:1]+"5)", formula)
		value, err := f.GetCellValue(ListSheet, cell)
		require.NoError(t, err)
		assert.Equal(t, strconv.Itoa(want), value, cell)
	}
}

// What is typed over a code stays text: the cells have the format "@", number 49
// of ECMA-376, part 1, 18.8.30 (from memory).
func TestCodesAreFormattedAsText(t *testing.T) {
	f, err := excelize.OpenReader(bytes.NewReader(bytesOf(t, odd(t), printOf(t))))
	require.NoError(t, err)
	defer f.Close()
	for _, cell := range []string{"A1", "D2", "E2", "E4", "F5"} {
		id, err := f.GetCellStyle(ListSheet, cell)
		require.NoError(t, err)
		style, err := f.GetStyle(id)
		require.NoError(t, err)
		assert.Equal(t, 49, style.NumFmt, cell)
	}
}

// calc opens spreadsheets in LibreOffice (Debian libreoffice-calc-nogui) and
// returns the sheets of each as it shows them, text cells in quotes.
func calc(t *testing.T, books ...[]byte) (shown []map[string][][]string) {
	dir := t.TempDir()
	// Token 7 puts all text cells in quotes, token 12 writes every sheet into a
	// file of its own.
	args := []string{"--headless", "-env:UserInstallation=file://" + dir + "/profile", "--convert-to",
		"csv:Text - txt - csv (StarCalc):9,34,76,1,,0,true,true,false,false,false,-1", "--outdir", dir}
	for i, data := range books {
		path := filepath.Join(dir, strconv.Itoa(i)+".xlsx")
		require.NoError(t, os.WriteFile(path, data, 0o666))
		args = append(args, path)
	}
	said, err := exec.Command("soffice", args...).CombinedOutput()
	require.NoError(t, err, string(said))
	for i := range books {
		sheets := map[string][][]string{}
		for _, name := range []string{ListSheet, SectionSheet, AboutSheet} {
			text, err := os.ReadFile(filepath.Join(dir, strconv.Itoa(i)+"-"+name+".csv"))
			require.NoError(t, err, string(said))
			for _, line := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
				sheets[name] = append(sheets[name], strings.Split(line, "\t"))
			}
		}
		shown = append(shown, sheets)
	}
	return shown
}

// more changes a number of a spreadsheet, and takes away the value that its
// sum carries.
func more(t *testing.T, data []byte) []byte {
	f, err := excelize.OpenReader(bytes.NewReader(data))
	require.NoError(t, err)
	defer f.Close()
	require.NoError(t, f.SetCellInt(ListSheet, "I2", 1_000_000))
	sum, err := f.GetCellFormula(ListSheet, "I6")
	require.NoError(t, err)
	require.NoError(t, f.SetCellValue(ListSheet, "I6", nil))
	require.NoError(t, f.SetCellFormula(ListSheet, "I6", sum))
	var changed bytes.Buffer
	require.NoError(t, f.Write(&changed))
	return changed.Bytes()
}

// LibreOffice reads the numbers that kit.csv has, adds them up to the same sums,
// and takes codes and names for text, whatever they look like. It adds up
// itself: after a number is changed, its sum is another one.
func TestLibreOfficeReadsTheSame(t *testing.T) {
	checker.Need(t, "soffice")
	if testing.Short() {
		t.Skip("skipped: LibreOffice takes its time to begin")
	}
	k, p := odd(t), printOf(t)
	k.Print = p.Settings()
	data := bytesOf(t, k, p)
	shown := calc(t, data, more(t, data))
	sheets := shown[0]
	quote := func(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }

	var list bytes.Buffer
	require.NoError(t, k.WriteKitCSV(&list))
	rows, err := csv.NewReader(&list).ReadAll()
	require.NoError(t, err)
	got := sheets[ListSheet]
	require.Len(t, got, 6)
	for i, l := range k.Chart.Legend {
		row := got[i+1]
		assert.Equal(t, []string{quote(l.Drill.Code), quote(l.Drill.Name)}, []string{row[3], row[5]}, "text, and whole")
		if yours := k.YourCode(l.Drill); yours != "" {
			assert.Equal(t, quote(yours), row[4], "text, and whole")
		}
	}
	for i, row := range rows[1:] {
		assert.Equal(t, row[7:10], got[i+1][8:11], "drills, extra, buy")
		assert.Equal(t, row[11], got[i+1][13], "in bags")
		want, err := strconv.ParseFloat(row[12], 64)
		require.NoError(t, err)
		is, err := strconv.ParseFloat(got[i+1][14], 64)
		require.NoError(t, err)
		assert.Equal(t, want, is, "price")
		if row[0] != "total" {
			assert.Equal(t, row[13], got[i+1][16], "grams")
		}
	}

	sections := sheets[SectionSheet]
	last := sections[len(sections)-1]
	assert.Equal(t, "3000", last[1])
	for i, l := range k.Chart.Legend {
		sum := 0
		for _, row := range sections[1 : len(sections)-1] {
			n, _ := strconv.Atoi(row[2+i])
			sum += n
		}
		assert.Equal(t, l.Count, sum)
		assert.Equal(t, strconv.Itoa(l.Count), last[2+i])
	}

	assert.Equal(t, strconv.Itoa(3000-k.Chart.Legend[0].Count+1_000_000), shown[1][ListSheet][5][8])
}
