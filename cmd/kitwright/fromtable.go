package main

import (
	"bytes"
	"io"
	"strconv"
	"strings"

	"kitwright/chart"
	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/palettes/intake"
)

// mostPlaces is how many places a changed chart may differ in: each becomes an
// edit, and thousands of them are another picture.
const mostPlaces = 2_000

// editsOfTable reads a chart.csv or kit.csv that was changed in a spreadsheet
// and returns the changes as edits, all of one stroke. What it tells that no edit
// can do is refused: nothing of it is taken then.
func editsOfTable(path string, k *kit.Kit, card *palettes.Card) ([]kit.Edit, error) {
	lines, err := tableRows(path, nil)
	if err != nil {
		return nil, err
	}
	var edits []kit.Edit
	if len(lines) > 0 && len(lines[0].Cells) > 3 && strings.EqualFold(strings.TrimSpace(lines[0].Cells[0]), "number") {
		edits, err = editsOfList(path, lines, k, card)
	} else {
		edits, err = editsOfChart(path, lines, k, card)
	}
	if err != nil {
		return nil, err
	}
	if len(edits) == 0 {
		return nil, say.Usage("change color numbers in chart.csv, or codes in kit.csv, save it as CSV, and name it again", "%s tells what the kit tells: nothing was changed in it", path)
	}
	for i := range edits {
		edits[i].With = i > 0
	}
	return edits, nil
}

// tableRows reads a table from a file, or from what write writes.
func tableRows(path string, write func(io.Writer) error) ([]intake.Line, error) {
	if write != nil {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			return nil, err
		}
		return intake.Rows("table", path, &b, mostCodes)
	}
	f, err := input.Open(path, "table")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return intake.Rows("table", path, f, mostCodes)
}

// editsOfChart compares a table of color numbers, or of codes, with the chart.
func editsOfChart(path string, lines []intake.Line, k *kit.Kit, card *palettes.Card) ([]kit.Edit, error) {
	c := k.Chart
	const whole = "chart.csv has a row of the picture in each line and a drill in each cell, and keeps its size"
	if len(lines) != c.Rows {
		return nil, say.Usage(whole, "%s has %s, and the picture %s", path, say.Count(len(lines), "row"), say.Count(c.Rows, "row"))
	}
	known := map[string]palettes.Drill{}
	for _, e := range c.Legend {
		known[strconv.Itoa(e.Number)] = e.Drill
	}
	wanted := make([]*palettes.Drill, len(c.Cells)) // nil = as it is
	gone := make([]map[string]bool, len(c.Legend))  // what became of each color's drills, by address
	for y, l := range lines {
		if l.Bad != "" {
			return nil, say.Failed("mend the line", "%s, line %d: %s", path, l.Number, l.Bad)
		}
		if len(l.Cells) != c.Cols {
			return nil, say.Usage(whole, "%s, line %d has %s, and the picture %s", path, l.Number, say.Count(len(l.Cells), "cell"), say.Count(c.Cols, "column"))
		}
		for x, cell := range l.Cells {
			text := strings.TrimSpace(cell)
			d, ok := known[text]
			if !ok {
				var err error
				if d, err = k.Find(wording.Uncell(text), card); err != nil {
					return nil, notThere(err, path, l.Number, x+1, text)
				}
				known[text] = d
			}
			v := c.Cells[y*c.Cols+x]
			if gone[v] == nil {
				gone[v] = map[string]bool{}
			}
			gone[v][d.Address()] = true
			if d.Address() != c.Legend[v].Drill.Address() {
				wanted[y*c.Cols+x] = &d
			}
		}
	}
	edits := wholeColors(wanted, gone, c)
	for _, e := range places(wanted, c) {
		edits = append(edits, e)
		if len(edits) > mostPlaces {
			return nil, say.Usage("so much is quicker charted anew: kitwright chart makes it from the photo", "%s differs from the chart in more than %s places", path, say.Number(mostPlaces))
		}
	}
	return edits, nil
}

// wholeColors returns a swap for every color whose drills all got the same other
// one, so that its number and symbol are kept, and takes them out of what is
// wanted. It returns none where one swap would take what another has just brought.
func wholeColors(wanted []*palettes.Drill, gone []map[string]bool, c *chart.Chart) (swaps []kit.Edit) {
	whole := func(v uint16) bool { return len(gone[v]) == 1 && !gone[v][c.Legend[v].Drill.Address()] }
	seen := map[uint16]bool{}
	for i, v := range c.Cells {
		if whole(v) && !seen[v] {
			seen[v] = true
			swaps = append(swaps, kit.Edit{Act: kit.Swap, From: c.Legend[v].Drill.Address(), To: *wanted[i]})
		}
	}
	if chained(swaps) {
		return nil
	}
	for i, v := range c.Cells {
		if whole(v) {
			wanted[i] = nil
		}
	}
	return swaps
}

// chained says whether a color that goes is one that comes.
func chained(swaps []kit.Edit) bool {
	goes := map[string]bool{}
	for _, e := range swaps {
		goes[e.From] = true
	}
	for _, e := range swaps {
		if goes[e.To.Address()] {
			return true
		}
	}
	return false
}

// places returns what is wanted as boxes of one color, from the top left: runs
// along the rows, joined with like ones below.
func places(wanted []*palettes.Drill, c *chart.Chart) (edits []kit.Edit) {
	like := func(i, j int) bool {
		return wanted[j] != nil && wanted[i].Address() == wanted[j].Address()
	}
	for i := range wanted {
		if wanted[i] == nil {
			continue
		}
		x, y := i%c.Cols, i/c.Cols
		w, h := 1, 1
		for x+w < c.Cols && like(i, i+w) {
			w++
		}
	down:
		for ; y+h < c.Rows; h++ {
			for dx := range w {
				if !like(i, i+h*c.Cols+dx) {
					break down
				}
			}
		}
		edits = append(edits, kit.Edit{Act: kit.Set, Area: chart.Box{X: x, Y: y, W: w, H: h}, To: *wanted[i]})
		for dy := range h {
			for dx := range w {
				wanted[i+dy*c.Cols+dx] = nil
			}
		}
	}
	return edits
}

// editsOfList compares a list of colors with the kit's: a code that was changed
// is a swap. All else follows from the chart and cannot be taken.
func editsOfList(path string, lines []intake.Line, k *kit.Kit, card *palettes.Card) ([]kit.Edit, error) {
	was, err := tableRows("kit.csv", k.WriteKitCSV)
	if err != nil {
		return nil, err
	}
	at := map[string]int{} // column of the kit's table by its name
	for i, head := range was[0].Cells {
		at[head] = i
	}
	row := map[string]intake.Line{}
	for _, l := range was[1:] {
		row[l.Cells[0]] = l
	}
	heads := lines[0].Cells
	var edits []kit.Edit
	for _, l := range lines[1:] {
		if l.Bad != "" {
			return nil, say.Failed("mend the line", "%s, line %d: %s", path, l.Number, l.Bad)
		}
		number := strings.TrimSpace(l.Cells[0])
		old, ok := row[number]
		if !ok {
			return nil, say.Usage("chart.csv says where a new color stands: write its code there", "%s, line %d: the kit has no color with the number %q", path, l.Number, number)
		}
		cell := func(of intake.Line, i int) string {
			if i < 0 || i >= len(of.Cells) {
				return ""
			}
			return wording.Uncell(strings.TrimSpace(of.Cells[i]))
		}
		var code, finish, from string
		for i, head := range heads {
			j, ok := at[strings.ToLower(strings.TrimSpace(head))]
			if !ok {
				continue // a column of her own
			}
			is, before := cell(l, i), cell(old, j)
			switch was[0].Cells[j] {
			case "code":
				code, from = is, before
			case "finish":
				finish = is
			case "name", "hex", "symbol", "symbol_name": // they follow from the code
			case "your_code":
				if is != before {
					return nil, say.Usage(say.Hint("kitwright print %s %s takes your codes", say.Setting("codes"), path), "%s, line %d: your code %q is no change of the chart", path, l.Number, is)
				}
			default:
				if !sameCell(is, before) {
					return nil, say.Usage("change codes here, or drills in chart.csv; settings such as {extra} and {bags} say what to buy",
						"%s, line %d: %s was %s and is %s, but follows from the chart", path, l.Number, strings.ReplaceAll(head, "_", " "), quotedOrNothing(before), quotedOrNothing(is))
				}
			}
		}
		if number == "total" {
			continue
		}
		address := palettes.Drill{Code: code, Finish: palettes.FinishOf(finish)}.Address()
		n, _ := strconv.Atoi(number)
		entry := k.Chart.Legend[indexOfNumber(k, n)]
		if code == "" || address == entry.Drill.Address() || code == from && finish == string(entry.Drill.Finish) {
			continue
		}
		d, err := k.Find(address, card)
		if err != nil {
			return nil, notThere(err, path, l.Number, 0, address)
		}
		edits = append(edits, kit.Edit{Act: kit.Swap, From: entry.Drill.Address(), To: d})
	}
	if chained(edits) {
		return nil, say.Usage("swap them one after the other with kitwright edit {swap}, or write the codes into chart.csv", "%s gives a color the code of another that changes, too", path)
	}
	return edits, nil
}

func indexOfNumber(k *kit.Kit, n int) int {
	for i, e := range k.Chart.Legend {
		if e.Number == n {
			return i
		}
	}
	return 0
}

// sameCell compares cells as a spreadsheet may have written them.
func sameCell(a, b string) bool {
	if a == b {
		return true
	}
	x, err1 := strconv.ParseFloat(strings.Replace(a, ",", ".", 1), 64)
	y, err2 := strconv.ParseFloat(strings.Replace(b, ",", ".", 1), 64)
	return err1 == nil && err2 == nil && x == y
}

func quotedOrNothing(s string) string {
	if s == "" {
		return "nothing"
	}
	return strconv.Quote(s)
}

// notThere says in which cell a color stands that cannot be had.
func notThere(err error, path string, line, column int, text string) error {
	if text == "" {
		return say.Usage("write the number or the code of a color into every cell", "%s, line %d, column %d is empty", path, line, column)
	}
	if said, ok := err.(*say.Error); ok {
		if column > 0 {
			return said.At("%s, line %d, column %d", path, line, column)
		}
		return said.At("%s, line %d", path, line)
	}
	return err
}

// editedByTable returns a kit with the changes that a table tells.
func editedByTable(e env, k *kit.Kit, dir, table string) (*kit.Kit, error) {
	card, err := cardOf(e, cardPlaces{}, k, dir, "")
	if err != nil {
		return nil, err
	}
	edits, err := editsOfTable(table, k, card)
	if err != nil {
		return nil, err
	}
	return k.Edit(edits...)
}
