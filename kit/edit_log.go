package kit

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/lab"
	"kitwright/palettes"
)

// The files of an edited kit beside kit.json: what was done, and the kit as it
// was made.
const (
	EditsFile = "edits.csv"
	MadeFile  = "unedited.json"
)

var editColumns = []string{"action", "from", "left", "top", "right", "bottom", "code", "name", "finish", "hex", "L", "a", "b"}

// leftOut begins the action of an edit that did not fit.
const leftOut = "left out: "

// withIt begins the action of an edit that is one stroke with the one before.
const withIt = "and "

// mostEdits is how many edits a log may have.
const mostEdits = 100_000

// Write writes the log, a line an edit; lines are only ever added. Columns and
// rows count from 1.
func (e *Edits) Write(w io.Writer) error {
	out := csv.NewWriter(w)
	out.Write(editColumns)
	for _, x := range e.Log {
		row := make([]string, len(editColumns))
		row[0] = string(x.Act)
		if x.With {
			row[0] = withIt + row[0]
		}
		if x.Left {
			row[0] = leftOut + row[0]
		}
		if x.Act == Set {
			for i, v := range [4]int{x.Area.X + 1, x.Area.Y + 1, x.Area.X + x.Area.W, x.Area.Y + x.Area.H} {
				row[2+i] = strconv.Itoa(v)
			}
		}
		if x.Act == Swap {
			row[1] = wording.Cell(x.From)
		}
		if x.Act == Swap || x.Act == Set {
			d := x.To
			copy(row[6:], []string{wording.Cell(d.Code), wording.Cell(d.Name), wording.Cell(string(d.Finish)), lab.Hex(d.RGB), formatNumber(d.Lab.L), formatNumber(d.Lab.A), formatNumber(d.Lab.B)})
		}
		out.Write(row)
	}
	out.Flush()
	return out.Error()
}

// ReadEdits reads the two files of an edited kit. What they make has to be the
// kit at hand: a kit.json that was changed by hand would be lost by the next
// edit.
func (k *Kit) ReadEdits(log, made io.Reader) error {
	first, err := ReadJSON(made)
	if err != nil {
		return fmt.Errorf("%s: %w", MadeFile, err)
	}
	first.Target = k.Target
	edits := &Edits{Made: first}
	in := csv.NewReader(io.LimitReader(log, maxJSON))
	in.FieldsPerRecord = len(editColumns)
	for line := 1; ; line++ {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		bad := func(what string) error {
			return say.Failed("restore the file: what was edited is in it", "%s, line %d: %s", EditsFile, line, what)
		}
		if err != nil {
			return bad("it is not a line as kitwright writes it")
		}
		if line == 1 {
			continue
		}
		if line > mostEdits {
			return bad("there are more edits than any kit has")
		}
		x, what := readEdit(row)
		if what != "" {
			return bad(what)
		}
		edits.Log = append(edits.Log, x)
	}
	played, err := edits.play()
	if err != nil {
		return err
	}
	if !reflect.DeepEqual(played.Chart, k.Chart) {
		return say.Failed("make the change with kitwright edit, or remove "+EditsFile+" and "+MadeFile+" to begin from kit.json as it is",
			"kit.json is not what its edits make of it: it was changed by hand")
	}
	k.Edits = edits
	return nil
}

// readEdit reads a line of the log, or says what is wrong with it.
func readEdit(row []string) (x Edit, what string) {
	act, left := strings.CutPrefix(row[0], leftOut)
	act, with := strings.CutPrefix(act, withIt)
	x.Act, x.Left, x.With = Act(act), left, with
	switch x.Act {
	case Undo, Redo:
		if x.With {
			return x, "it joins what cannot be withIt"
		}
		return x, ""
	case Swap:
		if x.From = wording.Uncell(row[1]); wording.Title.Check(x.From) != nil || x.From == "" {
			return x, "it does not say which color goes"
		}
	case Set:
		var at [4]int
		for i := range at {
			v, err := strconv.Atoi(row[2+i])
			if err != nil || v < 1 || v > MaxDrills {
				return x, "its columns and rows are no numbers"
			}
			at[i] = v
		}
		x.Area = chart.Box{X: at[0] - 1, Y: at[1] - 1, W: at[2] - at[0] + 1, H: at[3] - at[1] + 1}
		if x.Area.W < 1 || x.Area.H < 1 {
			return x, "its columns or rows run backwards"
		}
	default:
		return x, "there is no such action"
	}
	d := palettes.Drill{Code: wording.Uncell(row[6]), Name: wording.Uncell(row[7]), Finish: palettes.Finish(wording.Uncell(row[8]))}
	for kind, text := range map[wording.Kind]string{wording.Code: d.Code, wording.Name: d.Name, wording.Finish: string(d.Finish)} {
		if kind.Check(text) != nil {
			return x, "its words hold what cannot be printed, or are too long"
		}
	}
	rgb, ok := lab.ParseHex(row[9])
	l, okL := number(row[10])
	a, okA := number(row[11])
	b, okB := number(row[12])
	if !ok || !okL || !okA || !okB || d.Code == "" || l < 0 || l > 100 || a < -200 || a > 200 || b < -200 || b > 200 {
		return x, "its color is none"
	}
	d.Lab, d.RGB = lab.Color{L: l, A: a, B: b}, rgb
	_, inside := d.Lab.SRGB()
	d.Beyond = !inside
	x.To = d
	return x, ""
}
