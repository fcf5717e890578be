package kit

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"strconv"

	"kitwright/chart"
	"kitwright/chart/symbols"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/photo/tone"
)

// FormatVersion is the version of kit.json that this program writes. It grows
// only when an older program could misread a newer file; new keys alone do not
// change it.
const FormatVersion = 1

// file is kit.json. Its keys are a contract: keys may be added, never renamed.
type file struct {
	Version int               `json:"version"`
	Title   string            `json:"title"`
	Order   map[string]string `json:"order"`
	Print   map[string]string `json:"print"`
	Drill   fileDrill         `json:"drill"`
	Grid    fileGrid          `json:"grid"`
	Card    fileCard          `json:"card"`
	Legend  []fileColor       `json:"legend"`
	Quality Quality           `json:"quality"`
	Stopped bool              `json:"stopped"`
	Photo   filePhoto         `json:"photo"`
	Tone    fileTone          `json:"tone"`
	Advice  []string          `json:"advice"`
	Cells   json.RawMessage   `json:"cells"`
}

type fileDrill struct {
	Shape  Shape   `json:"shape"`
	SizeMM float64 `json:"size_mm"`
}

type fileGrid struct {
	Cols     int     `json:"cols"`
	Rows     int     `json:"rows"`
	PitchMM  float64 `json:"pitch_mm"`
	WidthMM  float64 `json:"width_mm"`
	HeightMM float64 `json:"height_mm"`
}

type fileCard struct {
	Name    string `json:"name"`
	SHA256  string `json:"sha256"`
	Builtin bool   `json:"builtin"`
}

type fileColor struct {
	Number     int        `json:"number"`
	Symbol     string     `json:"symbol"`
	SymbolName string     `json:"symbol_name"`
	Code       string     `json:"code"`
	Name       string     `json:"name"`
	Finish     string     `json:"finish"`
	Hex        string     `json:"hex"`
	Lab        [3]float64 `json:"lab"`
	OutOfSRGB  bool       `json:"out_of_srgb"`
	Drills     int        `json:"drills"`
}

type filePhoto struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
}

type fileTone struct {
	Stops float64 `json:"stops"` // exposure, in doublings of light
	Lift  float64 `json:"lift"`  // L* added to the darks
	Local bool    `json:"local_contrast"`
	Sharp bool    `json:"sharpened"`
}

// WriteJSON writes the kit as kit.json: everything needed to print it again
// without the photo.
func (k *Kit) WriteJSON(w io.Writer) error {
	f := file{
		Version: FormatVersion,
		Title:   k.Title,
		Order:   k.Order,
		Print:   k.Print,
		Drill:   fileDrill{k.Drill.Shape, k.Drill.Size.MM()},
		Grid: fileGrid{
			Cols: k.Chart.Cols, Rows: k.Chart.Rows,
			PitchMM: k.Pitch.MM(), WidthMM: k.Width().MM(), HeightMM: k.Height().MM(),
		},
		Card:    fileCard(k.Card),
		Quality: k.Quality,
		Stopped: k.Stopped,
		Photo:   filePhoto(k.Photo),
		Tone:    fileTone(k.Tone),
		Advice:  k.Advice,
		Cells:   json.RawMessage(`"cells"`),
	}
	for i, e := range k.Chart.Legend {
		f.Legend = append(f.Legend, fileColor{
			Number: i + 1, Symbol: string(e.Symbol.Rune), SymbolName: e.Symbol.Name,
			Code: e.Drill.Code, Name: e.Drill.Name, Finish: string(e.Drill.Finish),
			Hex: lab.Hex(e.Drill.RGB), Lab: [3]float64{e.Drill.Lab.L, e.Drill.Lab.A, e.Drill.Lab.B},
			OutOfSRGB: e.Drill.Beyond, Drills: e.Count,
		})
	}

	var head bytes.Buffer
	enc := json.NewEncoder(&head)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(f); err != nil {
		return err
	}
	// The cells go where their stand-in is, a row a line.
	const standIn = "\"cells\"\n}\n"
	out := bufio.NewWriter(w)
	out.Write(bytes.TrimSuffix(head.Bytes(), []byte(standIn)))
	out.WriteString("[\n")
	for y := 0; y < k.Chart.Rows; y++ {
		out.WriteString("    [")
		k.writeRow(out, y)
		if y+1 < k.Chart.Rows {
			out.WriteString("],\n")
		} else {
			out.WriteString("]\n")
		}
	}
	out.WriteString("  ]\n}\n")
	return out.Flush()
}

// ReadJSON reads a kit.json, also one edited by hand, and refuses what does
// not add up.
func ReadJSON(r io.Reader) (*Kit, error) {
	const again = "make the kit again from its photo, or take an unchanged copy of kit.json"
	bad := func(format string, args ...any) error {
		return say.Failed(again, "kit.json cannot be used: "+format, args...)
	}
	var f file
	if err := json.NewDecoder(r).Decode(&f); err != nil {
		return nil, bad("it is not JSON as kitwright writes it (%s)", err)
	}
	if f.Version > FormatVersion {
		return nil, say.Failed("use the newer kitwright that made it", "kit.json is of version %d, and this kitwright knows up to %d", f.Version, FormatVersion)
	}
	if f.Version < 1 {
		return nil, bad("it has no version")
	}
	pitch, err1 := measure.ParseLength(strconv.FormatFloat(f.Grid.PitchMM, 'f', -1, 64) + "mm")
	size, err2 := measure.ParseLength(strconv.FormatFloat(f.Drill.SizeMM, 'f', -1, 64) + "mm")
	if err1 != nil || err2 != nil || pitch <= 0 || size <= 0 || (f.Drill.Shape != Square && f.Drill.Shape != Round) {
		return nil, bad("its drill or pitch is not one that drills come in")
	}
	cols, rows := f.Grid.Cols, f.Grid.Rows
	if err := (Layout{Cols: cols, Rows: rows, Pitch: pitch}).check(); err != nil || cols < 1 || rows < 1 {
		return nil, bad("a grid of %d x %d is none", cols, rows)
	}

	var cells [][]int
	if err := json.Unmarshal(f.Cells, &cells); err != nil || len(cells) != rows {
		return nil, bad("its cells are not %d rows of numbers", rows)
	}
	c := &chart.Chart{Cols: cols, Rows: rows, Cells: make([]uint16, 0, cols*rows)}
	counts := make([]int, len(f.Legend))
	for y, row := range cells {
		if len(row) != cols {
			return nil, bad("row %d has %d cells instead of %d", y+1, len(row), cols)
		}
		for _, n := range row {
			if n < 1 || n > len(f.Legend) {
				return nil, bad("row %d names color %d, and the legend has %d", y+1, n, len(f.Legend))
			}
			counts[n-1]++
			c.Cells = append(c.Cells, uint16(n-1))
		}
	}
	seen := map[rune]bool{}
	for i, l := range f.Legend {
		if l.Drills != counts[i] {
			return nil, bad("color %d (%s) counts %d drills, and the chart has %d of it", i+1, l.Code, l.Drills, counts[i])
		}
		symbol, ok := symbols.ByRune(firstRune(l.Symbol))
		if !ok || seen[symbol.Rune] {
			return nil, bad("the symbol of color %d (%s) is none of ours or is used twice", i+1, l.Code)
		}
		seen[symbol.Rune] = true
		rgb, ok := lab.ParseHex(l.Hex)
		if !ok {
			return nil, bad("%q of color %d (%s) is not a color such as #8a5f3c", l.Hex, i+1, l.Code)
		}
		c.Legend = append(c.Legend, chart.Entry{
			Drill: palettes.Drill{
				Code: l.Code, Name: l.Name, Finish: palettes.Finish(l.Finish),
				Lab: lab.Color{L: l.Lab[0], A: l.Lab[1], B: l.Lab[2]}, RGB: rgb, Beyond: l.OutOfSRGB,
			},
			Symbol: symbol,
			Count:  l.Drills,
		})
	}
	return &Kit{
		Title: f.Title, Order: f.Order, Print: f.Print,
		Drill: Drill{f.Drill.Shape, size}, Pitch: pitch,
		Card: CardRef(f.Card), Chart: c, Quality: f.Quality, Photo: PhotoRef(f.Photo),
		Tone: tone.Changes(f.Tone), Advice: f.Advice, Stopped: f.Stopped,
	}, nil
}

func firstRune(s string) rune {
	for _, r := range s {
		return r
	}
	return 0
}
