package kit

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"

	"kitwright/lab"
)

// FormatVersion is the version of kit.json that this program writes. It grows
// only when an older program could misread a newer file; new keys alone do not
// change it.
const FormatVersion = 1

// file is kit.json. Its keys are a contract: keys may be added, never renamed.
type file struct {
	Version int               `json:"version"`
	Title   string            `json:"title"`
	Mark    string            `json:"mark"` // of the chart, as it stands on every print
	Order   map[string]string `json:"order"`
	Print   map[string]string `json:"print"`
	Drill   fileDrill         `json:"drill"`
	Grid    fileGrid          `json:"grid"`
	Sheet   *Sheet            `json:"sheet,omitempty"`
	Card    fileCard          `json:"card"`
	Legend  []fileColor       `json:"legend"`
	Quality Quality           `json:"quality"`
	Stopped bool              `json:"stopped"`
	Photo   filePhoto         `json:"photo"`
	Tone    fileTone          `json:"tone"`
	Advice  []string          `json:"advice"`
	Own     *Own              `json:"own,omitempty"`
	Target  string            `json:"target,omitempty"` // hash of what target.bin holds
	Buying  told              `json:"buying"`
	Yours   map[string]string `json:"your_codes,omitempty"`
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
	Buying     told       `json:"buying"`
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
		Mark:    k.Chart.Mark(),
		Order:   k.Order,
		Print:   k.Print,
		Drill:   fileDrill{k.Drill.Shape, k.Drill.Size.MM()},
		Grid: fileGrid{
			Cols: k.Chart.Cols, Rows: k.Chart.Rows,
			PitchMM: k.Pitch.MM(), WidthMM: k.Width().MM(), HeightMM: k.Height().MM(),
		},
		Sheet:   k.Sheet,
		Card:    fileCard(k.Card),
		Quality: k.Quality,
		Stopped: k.Stopped,
		Photo:   filePhoto(k.Photo),
		Tone:    fileTone(k.Tone),
		Advice:  k.Advice,
		Own:     k.Own,
		Target:  k.TargetSum,
		Yours:   k.YourCodes,
		Cells:   json.RawMessage(`"cells"`),
	}
	b := k.Buying()
	f.Buying = told{buyOf(b.Supply, b.Total)}
	for i, e := range k.Chart.Legend {
		buy := buyOf(b.Supply, b.Lines[i])
		buy.YourCode = k.YourCode(e.Drill)
		f.Legend = append(f.Legend, fileColor{
			Number: e.Number, Symbol: string(e.Symbol.Rune), SymbolName: e.Symbol.Name,
			Code: e.Drill.Code, Name: e.Drill.Name, Finish: string(e.Drill.Finish),
			Hex: lab.Hex(e.Drill.RGB), Lab: [3]float64{e.Drill.Lab.L, e.Drill.Lab.A, e.Drill.Lab.B},
			OutOfSRGB: e.Drill.Beyond, Drills: e.Count,
			Buying: told{buy},
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
