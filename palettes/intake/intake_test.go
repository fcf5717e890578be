package intake

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/internal/say"
	"kitwright/internal/spectral"
	"kitwright/lab"
)

func read(t testing.TB, text string, opt Options) *Result {
	t.Helper()
	res, err := Read("mine.csv", strings.NewReader(text), opt)
	require.NoError(t, err)
	return res
}

// lines writes the drills of a card in a line each.
func lines(res *Result) (out []string) {
	for _, d := range res.Card.Drills {
		out = append(out, fmt.Sprintf("%s|%s|%s", d.Address(), d.Name, lab.Hex(d.RGB)))
	}
	return out
}

var tables = []struct {
	name, text string
	opt        Options
	want       []string
}{
	{"another order and other words", "Hex Code;Color No.;Description\n#c86432;007;rust\n", Options{}, []string{"007|rust|#c86432"}},
	{"tabs, RGB", "Nr.\tR\tG\tB\n0012\t200\t100\t50\n", Options{}, []string{"0012|0012|#c86432"}},
	{"RGB and Lab together", "code,R,G,B,L,a,b\nA1,1,2,3,50.034,0,0\n", Options{}, []string{"A1|A1|#777777"}},
	{"Lab and RGB together", "code,L,a,b,R,G,B\nA1,,,,200,100,50\n", Options{}, []string{"A1|A1|#c86432"}},
	{"RGB in one cell", "code;RGB\nA1;200, 100, 50\nA2;rgb(200,100,50)\n", Options{}, []string{"A1|A1|#c86432", "A2|A2|#c86432"}},
	{"decimal commas", "Code;L*;a*;b*\nA1;50,034;0,0;-0,0\n", Options{}, []string{"A1|A1|#777777"}},
	{"finishes", "code,finish,hex\nA1,plain,#fff\nA1,ab,#eee\n", Options{}, []string{"A1|A1|#ffffff", "A1/AB|A1|#eeeeee"}},
	{"other languages", "Farbnr;Farbname;Hexwert\n5;Sand;D8C3A5\n", Options{}, []string{"5|Sand|#d8c3a5"}},
	{"a title above", "Seaside drills 2026\n\nno.,name,hex\n7,foam,#ffffff\n", Options{}, []string{"7|foam|#ffffff"}},
	{"no header at all", "101,sand,#d8c3a5\n102,rust,#c86432\n", Options{}, []string{"101|sand|#d8c3a5", "102|rust|#c86432"}},
	{"no header, RGB", "101 \t200\t100\t50\n102\t0\t0\t255\n", Options{}, []string{"101|101|#c86432", "102|102|#0000ff"}},
	{"strange header, columns told", "x1,x2,x3,x4,x5\nq,A1,w,e,#c86432\n", Options{Columns: "code=2,hex=5"}, []string{"A1|A1|#c86432"}},
	{"columns by letter and by header", "foo,bar,baz\nA1,sand,#d8c3a5\n", Options{Columns: "code=A,name=bar,hex=C"}, []string{"A1|sand|#d8c3a5"}},
	{"columns told, no header", "A1,sand,#d8c3a5\nA2,sand,#d8c3a6\n", Options{Columns: "code=1,name=2,hex=3"}, []string{"A1|sand|#d8c3a5", "A2|sand|#d8c3a6"}},
	{"white in the header", "code,L* D50,a* D50,b* D50\nA1,100,0,0\n", Options{}, []string{"A1|A1|#ffffff"}},
	{"color means hex", "code,color\nA1,#c86432\n", Options{}, []string{"A1|A1|#c86432"}},
	{"color means name", "number,color,hex\n1,sand,#d8c3a5\n", Options{}, []string{"1|sand|#d8c3a5"}},
	{"names alone", "name,hex\nsand,#d8c3a5\n", Options{}, []string{"sand|sand|#d8c3a5"}},
	{"a comma in a code", "code;hex\nA,1;#d8c3a5\n", Options{}, []string{"A,1|A,1|#d8c3a5"}},
	{"0x and capitals", "code,hex\nA1,0xC86432\n", Options{}, []string{"A1|A1|#c86432"}},
	{"formulas defused", "code,hex\n'=1+1,#d8c3a5\n", Options{}, []string{"=1+1|=1+1|#d8c3a5"}},
	{"words of one to twelve letters", "code,hex\nA,#000\nSEAFOAMGREEN,#111\n123456789012,#222\n", Options{}, []string{"A|A|#000000", "SEAFOAMGREEN|SEAFOAMGREEN|#111111", "123456789012|123456789012|#222222"}},
}

func TestTables(t *testing.T) {
	for _, c := range tables {
		t.Run(c.name, func(t *testing.T) {
			res := read(t, c.text, c.opt)
			assert.Equal(t, c.want, lines(res))
			assert.Empty(t, res.Left)
		})
	}
}

func TestEncodings(t *testing.T) {
	const text = "Farbnr;Farbname;Hex\r\n1;Möwengrau ß;#808080\r\n"
	units := utf16.Encode([]rune(text))
	var little, big []byte
	for _, u := range units {
		little = append(little, byte(u), byte(u>>8))
		big = append(big, byte(u>>8), byte(u))
	}
	latin := strings.NewReplacer("ö", "\xf6", "ß", "\xdf").Replace(text)
	for name, data := range map[string]string{
		"UTF-8": text, "mark": "\ufeff" + text, "1252": latin,
		"little": "\xff\xfe" + string(little), "big": "\xfe\xff" + string(big), "bare little": string(little), "bare big": string(big),
		"old Macintosh": strings.ReplaceAll(text, "\r\n", "\r"),
	} {
		assert.Equal(t, []string{"1|Möwengrau ß|#808080"}, lines(read(t, data, Options{})), name)
	}
	assert.Contains(t, read(t, latin, Options{}).Notes, "read as Windows-1252")
}

// Nothing is guessed in silence.
func TestGuessesAreSaid(t *testing.T) {
	res := read(t, "101,sand,#d8c3a5\n102,rust,#c86432\n", Options{})
	assert.Equal(t, []string{"the columns were guessed: hex = column 3, code = column 1, name = column 2; {columns} says it otherwise"}, res.Notes)
	res = read(t, "no;L;a;b\n1;50;0;0\n2;60,5;0;0\n", Options{})
	assert.Contains(t, strings.Join(res.Notes, "\n"), "relative to D65")
}

// Every row is a drill of the card, or is named with its line and the reason.
func TestEveryRowIsKeptOrNamed(t *testing.T) {
	res := read(t, strings.Join([]string{
		"code;name;hex;L;a;b", // 1
		"A1;ok;#d8c3a5;;;",
		";no code;#d8c3a5;;;",
		"A3;no color;;;;",
		"A4;bad hex;#12345;;;",
		"A5;eight digits;#11223344;;;",
		"A6;half;;50;;",
		"A7;not a number;;50;x;0",
		"A8;out of range;;150;0;0",
		"A1;again;#d8c3a5;;;",
		"a1;another color;#000000;;;",
		"A\x1b[31m;control;#ffffff;;;",
		`"A12` + "\n" + `x";line break;#ffffff;;;`, // 13, 14
		"A13;not one color;#ff0000;50;0;0",         // 15
		strings.Repeat("A", 41) + ";long;#fff;;;",
		"A15;NaN;;NaN;0;0",
		`"A16;open;#fff;;;`,
		"A17;ok;#fff;;;",
	}, "\n"), Options{})
	assert.Equal(t, []string{"A1|ok|#d8c3a5", "A13|not one color|#777777", "A17|ok|#ffffff"}, lines(res))
	var left []string
	for _, r := range res.Left {
		left = append(left, r.String())
	}
	assert.Equal(t, []string{
		"line 3 (no code): no code",
		"line 4 (A3): no color",
		`line 5 (A4): "#12345" is not a hex value such as #c86432`,
		"line 6 (A5): hex #11223344 has eight digits: it is see-through or in another order",
		"line 7 (A6): L, a and b are not all given",
		`line 8 (A7): "x" is not a number`,
		"line 9 (A8): L 150, a 0, b 0 is no color",
		"line 10 (A1): the same as line 2",
		"line 11 (a1): line 2 has this code already, with another color (#d8c3a5 there, #000000 here)",
		"line 12 (A [31m): the code holds characters that cannot be printed",
		"line 13 (A12 x): the code holds characters that cannot be printed",
		"line 16 (" + strings.Repeat("A", 40) + "): the code is longer than 40 characters",
		`line 17 (A15): "NaN" is not a number`,
		"line 18 (A16;open;#fff;;;): no color",
	}, left)
	assert.Equal(t, []Row{{15, "A13", "hex #ff0000 and L, a, b are not one color (31 apart); L, a, b was taken"}}, res.Doubt)
}

func TestRefuses(t *testing.T) {
	var bomb bytes.Buffer
	z := zip.NewWriter(&bomb)
	for _, name := range []string{"xl/workbook.xml", "xl/worksheets/sheet1.xml"} {
		w, err := z.Create(name)
		require.NoError(t, err)
		for range 30 {
			w.Write(make([]byte, 1<<20))
		}
	}
	require.NoError(t, z.Close())
	deep := "<CxF>" + strings.Repeat("<a>", 100) + strings.Repeat("</a>", 100) + "</CxF>"
	for _, c := range []struct{ name, text, says string }{
		{"empty", "", "the card mine.csv is empty"},
		{"blank", " \n\t\n", "the card mine.csv is empty"},
		{"header alone", "code,hex\n", "the card mine.csv holds no colors"},
		{"prose", "Dear friend,\nI have no card.\n", "mine.csv holds no color that can be used"},
		{"a million rows", "code,hex\n" + strings.Repeat("A1,#fff\n", 1_000_000), "mine.csv holds more than 20,000 rows"},
		{"too many colors", func() string {
			var b strings.Builder
			b.WriteString("code,hex\n")
			for i := range 6000 {
				fmt.Fprintf(&b, "A%d,#%06x\n", i, i)
			}
			return b.String()
		}(), "mine.csv holds 6,000 colors, and a card takes up to 5,000"},
		{"too large", strings.Repeat("A1,#fff\n", 5_000_000), "the card mine.csv is over 16 MB"},
		{"binary", "\x00\x01\x02\x03\x04\x05\x06\x07", "mine.csv is not text"},
		{"a picture", "\xff\xd8\xff\xe0abcdef", "mine.csv is a picture, not a table"},
		{"an old spreadsheet", "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "mine.csv is an old or locked spreadsheet"},
		{"a PDF", "%PDF-1.7\n", "mine.csv is a PDF, not a table"},
		{"a zip bomb", bomb.String(), "mine.csv unpacks to more than 48 MB"},
		{"half a zip", bomb.String()[:100], "mine.csv is a damaged or unfinished spreadsheet"},
		{"entities", `<?xml version="1.0"?><!DOCTYPE CxF [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><CxF>&b;</CxF>`, "brings its own document type"},
		{"an unknown entity", `<?xml version="1.0"?><CxF>&b;</CxF>`, "it is not XML"},
		{"deep XML", deep, "nested more than 64 deep"},
		{"other XML", `<?xml version="1.0"?><svg></svg>`, `its outermost element is "svg", not CxF`},
		{"CGATS without data", "CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n", "the card mine.csv holds no colors"},
		{"CGATS for ten degrees", "OBSERVER \"10 degree\"\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\nA 1 2 3\nEND_DATA\n", "mine.csv holds values for the 10 degree observer"},
		{"CGATS under lamp light", "ILLUMINANT A\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\nA 1 2 3\nEND_DATA\n", `mine.csv holds values for the illuminant "A"`},
	} {
		res, err := Read("mine.csv", strings.NewReader(c.text), Options{})
		assert.Nil(t, res, c.name)
		var said *say.Error
		if assert.True(t, errors.As(err, &said), "%s: %v", c.name, err) {
			assert.Contains(t, said.What, c.says, c.name)
			assert.NotEmpty(t, said.Try, c.name)
		}
	}
	for _, columns := range []string{"code", "code=9", "shape=1", "code=,hex=2", "=1"} {
		_, err := Read("mine.csv", strings.NewReader("a,b\nA1,#fff\n"), Options{Columns: columns})
		var said *say.Error
		if assert.True(t, errors.As(err, &said), "%s: %v", columns, err) {
			assert.True(t, said.Usage, columns)
		}
	}
}

// A spreadsheet written by another program (openpyxl): a title above the
// header, a number that is shown with leading zeros, a formula as a code.
func TestSpreadsheet(t *testing.T) {
	data, err := os.ReadFile("testdata/card.xlsx")
	require.NoError(t, err)
	res, err := Read("card.xlsx", bytes.NewReader(data), Options{})
	require.NoError(t, err)
	assert.Equal(t, []string{"007|foam|#f9f8f5", "SR-041|dune sand|#dac2a7", "SR-041/AB|dune sand, AB|#ddc6aa", "SR-045|by hex|#c86432"}, lines(res))
	var left []string
	for _, r := range res.Left {
		left = append(left, r.String())
	}
	assert.Equal(t, []string{"line 7 (a formula): no code", "line 8 (SR-044): no color"}, left)
}

// A CxF file of our own: a flat spectrum is gray (L of Y = .5 is 76.069, CIE
// 15), Lab of D50 comes to D65 by Bradford, sRGB stays.
func TestCxF(t *testing.T) {
	data, err := os.ReadFile("testdata/x4.cxf")
	require.NoError(t, err)
	res, err := Read("x4.cxf", bytes.NewReader(data), Options{})
	require.NoError(t, err)
	require.Len(t, res.Card.Drills, 3)
	gray := res.Card.Drills[0].Lab
	assert.InDelta(t, 76.069, gray.L, 0.001)
	assert.InDelta(t, 0, gray.A, 0.001)
	assert.InDelta(t, 0, gray.B, 0.001)
	want := lab.Relative(50, 60, -40, lab.D50)
	assert.InDelta(t, want.A, res.Card.Drills[1].Lab.A, 0.001)
	assert.Equal(t, "#c86432", lab.Hex(res.Card.Drills[2].RGB))
	assert.Equal(t, []Row{{12, "SR-004", "its values are for the 10 degree observer"}}, res.Left)
}

// The samples of the colour-cxf project: sample.cxf gives each of its 144
// colors as L*a*b* by ASTM E308, D50 and 2 degrees, and as a spectrum. Ours
// from the spectrum, under D50, has to be that L*a*b*.
func TestCxFAgainstASTM(t *testing.T) {
	dir := checker.Folder(t, "KITWRIGHT_CXF")
	data, err := os.ReadFile(filepath.Join(dir, "sample.cxf"))
	require.NoError(t, err)
	objects, specs, err := scanCxF("sample.cxf", string(data))
	require.NoError(t, err)
	require.Len(t, objects, 144)
	worst, sum := 0.0, 0.0
	for _, o := range objects {
		var want, got lab.Color
		for i := range o.values {
			v := &o.values[i]
			switch v.kind {
			case "ColorCIELab":
				n, ok := v.numbers("L", "A", "B")
				require.True(t, ok)
				want = lab.Color{L: n[0], A: n[1], B: n[2]}
			case "ReflectanceSpectrum":
				s := spectral.Spectrum{From: 380, Step: 10}
				for _, w := range strings.Fields(v.text.String()) {
					x, ok := numeral(w)
					require.True(t, ok)
					s.Value = append(s.Value, x)
				}
				xyz, white := spectral.CIE1931.Under(spectral.CIE1931.D50, s.At)
				for c := range xyz { // to our white by scaling, so that Lab is the one relative to D50
					xyz[c] *= lab.White[c] / white[c]
				}
				got = lab.FromXYZ(xyz[0], xyz[1], xyz[2])
			}
		}
		e := lab.DeltaE(want, got)
		sum += e
		worst = max(worst, e)
	}
	t.Logf("144 spectra against the file's L*a*b*: mean %.3f, worst %.3f", sum/144, worst)
	assert.Less(t, worst, 0.25)

	names, err := filepath.Glob(filepath.Join(dir, "*.cxf"))
	require.NoError(t, err)
	require.NotEmpty(t, names)
	read := 0
	for _, name := range names {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		res, err := Read(filepath.Base(name), bytes.NewReader(data), Options{})
		if err != nil {
			var said *say.Error
			require.True(t, errors.As(err, &said), name)
			continue
		}
		read++
		t.Logf("%s: %d colors, %d left", filepath.Base(name), len(res.Card.Drills), len(res.Left))
	}
	assert.GreaterOrEqual(t, read, 3)
	_ = specs
}

// The whites of the tables against those that ASTM E308 publishes for the CIE
// 1931 observer: D50 96.422, 100, 82.521 and D65 95.047, 100, 108.883.
func TestWhitesOfTheTables(t *testing.T) {
	one := func(float64) float64 { return 1 }
	_, d50 := spectral.CIE1931.Under(spectral.CIE1931.D50, one)
	_, d65 := spectral.CIE1931.Under(spectral.CIE1931.D65, one)
	assert.InDelta(t, 0.96422, d50[0], 0.00005)
	assert.InDelta(t, 0.82521, d50[2], 0.00005)
	assert.InDelta(t, 0.95047, d65[0], 0.00005)
	assert.InDelta(t, 1.08883, d65[2], 0.0002)
	assert.Len(t, spectral.CIE1931.XYZ, 95)
}

// Two published sets of characterization data, row by row: XYZ and L*a*b* of
// one row, both relative to D50, have to be one color under D65.
func TestCharacterizationData(t *testing.T) {
	for _, name := range []string{"FOGRA39L.ti3", "TR006.ti3"} {
		data, err := os.ReadFile(filepath.Join("testdata", name))
		require.NoError(t, err)
		res, err := Read(name, bytes.NewReader(data), Options{})
		require.NoError(t, err)
		require.Len(t, res.Card.Drills, 1617, name)
		assert.Empty(t, res.Left)
		tables, err := cgatsTables(name, string(data))
		require.NoError(t, err)
		at := tables[0].at("XYZ_X")
		worst, sum := 0.0, 0.0
		for i, r := range tables[0].sets {
			var v [3]float64
			for j := range v {
				v[j], _ = numeral(r.cell(at + j))
				v[j] /= 100
			}
			v = lab.Adapt(v, lab.D50)
			e := lab.DeltaE(lab.FromXYZ(v[0], v[1], v[2]), res.Card.Drills[i].Lab)
			worst, sum = max(worst, e), sum+e
		}
		t.Logf("%s: XYZ against L*a*b*, mean %.3f, worst %.3f", name, sum/1617, worst)
		assert.Less(t, sum/1617, 0.05, name)
		assert.Less(t, worst, 0.45, name) // XYZ has two decimals, which black feels
	}
}

// Spectra in a CGATS file, in percent and as shares, under each name of bands.
func TestSpectraInCGATS(t *testing.T) {
	for _, c := range []struct{ field, value string }{{"SPECTRAL_NM", "0.5"}, {"SPECTRAL_NM_", "50.0"}, {"nm", "50"}, {"SPEC_", "0.5"}, {"R_", "0.5"}, {"SPECTRAL_PCT", "0.9"}} {
		var b strings.Builder
		b.WriteString("CGATS.17\nNUMBER_OF_FIELDS 33\nBEGIN_DATA_FORMAT\nSAMPLE_ID SAMPLE_NAME")
		for nm := 400; nm <= 700; nm += 10 {
			fmt.Fprintf(&b, " %s%d", c.field, nm)
		}
		b.WriteString("\nEND_DATA_FORMAT\nBEGIN_DATA\n1 \"SR 001\"" + strings.Repeat(" "+c.value, 31) + "\n2 SR-002 1 2\nEND_DATA\n")
		res, err := Read("spectra.txt", strings.NewReader(b.String()), Options{})
		require.NoError(t, err, c.field)
		require.Len(t, res.Card.Drills, 1)
		want := 76.069
		if c.field == "SPECTRAL_PCT" {
			want = 8.1298 // L of Y = .009: 116 f - 16 in the linear part, 903.3 Y
		}
		assert.InDelta(t, want, res.Card.Drills[0].Lab.L, 0.002, c.field)
		assert.Equal(t, "SR 001", res.Card.Drills[0].Code)
		assert.Equal(t, []Row{{8, "SR-002", "4 values for 33 fields"}}, res.Left)
	}
}

func FuzzRead(f *testing.F) {
	for _, c := range tables {
		f.Add([]byte(c.text), c.opt.Columns)
	}
	for _, name := range []string{"card.xlsx", "x4.cxf"} {
		data, err := os.ReadFile(filepath.Join("testdata", name))
		require.NoError(f, err)
		f.Add(data, "")
	}
	f.Add([]byte("CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\nA 1 2 3\nEND_DATA\n"), "")
	f.Fuzz(func(t *testing.T, data []byte, columns string) {
		res, err := Read("mine", bytes.NewReader(data), Options{Columns: columns})
		if err != nil {
			var said *say.Error
			require.True(t, errors.As(err, &said) && said.Try != "", "%v", err)
			return
		}
		require.NotEmpty(t, res.Card.Drills)
		var out bytes.Buffer
		require.NoError(t, res.Card.WriteCSV(&out))
		again, err := Read("mine", &out, Options{})
		require.NoError(t, err)
		require.Equal(t, res.Card.Drills, again.Card.Drills)
	})
}
