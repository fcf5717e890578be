package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"

	"kitwright/lab"
)

// A chip is one color of the Munsell system: a published renotation, or a
// neutral, whose color follows from its value alone.
type chip struct {
	hue    int     // 0 = 10RP, 1 = 2.5R, ... 39 = 7.5RP; -1 for a neutral
	value  float64 // Munsell value, 0 (black) to 10 (white)
	chroma int     // Munsell chroma, even; 0 for a neutral
	lab    lab.Color
}

var hueNames = [10]string{"R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"}

// notation returns the Munsell notation: "5YR 6/8", or "N 5" for a neutral.
func (c chip) notation() string {
	value := strconv.FormatFloat(c.value, 'f', -1, 64)
	if c.hue < 0 {
		return "N " + value
	}
	step, name := c.hue%4, hueNames[c.hue/4]
	if step == 0 {
		step, name = 4, hueNames[(c.hue/4+9)%10]
	}
	return fmt.Sprintf("%g%s %s/%d", 2.5*float64(step), name, value, c.chroma)
}

// tables is the Munsell renotation as the package "munsell" 1.1.6 (Mozilla
// Public License 2.0, H. Sansaqua) carries it, read from its dist/src/MRD.js:
// for 40 hues, some values and chromas 0, 2, 4, ... the chroma C*ab and the
// hue angle in degrees of CIE L*C*h relative to illuminant C, and how many of
// those chromas the tables of 1943 and 1956 (with their extension) hold.
type tables struct {
	CH, CHDark   [][][][2]float64
	L, LDark     []float64
	Max, MaxDark [][]int
}

func readTables(dir string) (*tables, error) {
	text, err := os.ReadFile(filepath.Join(dir, "dist", "src", "MRD.js"))
	if err != nil {
		return nil, err
	}
	t := new(tables)
	for name, into := range map[string]any{
		"mrdCHTable": &t.CH, "mrdCHTableDark": &t.CHDark,
		"mrdLTable": &t.L, "mrdLTableDark": &t.LDark,
		"maxChromaTable": &t.Max, "maxChromaTableDark": &t.MaxDark,
	} {
		m := regexp.MustCompile(`(?m)^exports\.` + name + ` = (\[.*\]);\r?$`).FindSubmatch(text)
		if m == nil {
			return nil, fmt.Errorf("%s holds no %s", dir, name)
		}
		if err := json.Unmarshal(m[1], into); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	return t, nil
}

// chips returns every renotation with chroma 2 or more, by value, hue, chroma.
func (t *tables) chips() []chip {
	var all []chip
	add := func(ch [][][][2]float64, ls []float64, most [][]int, perValue float64, from, to int) {
		for v := from; v <= to; v++ {
			for hue := range ch {
				for c := 2; c <= most[hue][v]; c += 2 {
					p := ch[hue][v][c/2]
					sin, cos := math.Sincos(p[1] * math.Pi / 180)
					all = append(all, chip{hue, float64(v) / perValue, c,
						adapt(lab.Color{L: ls[v], A: p[0] * cos, B: p[0] * sin})})
				}
			}
		}
	}
	add(t.CHDark, t.LDark, t.MaxDark, 5, 1, 4)
	add(t.CH, t.L, t.Max, 1, 1, 9)
	return all
}

// illuminantC is the white of the renotations: CIE illuminant C, 2 degree
// observer, x .31006, y .31616.
var illuminantC = [3]float64{0.31006 / 0.31616, 1, (1 - 0.31006 - 0.31616) / 0.31616}

// adapt turns a color relative to illuminant C into one relative to D65 by the
// Bradford transform (K. M. Lam 1985; the matrix as in ICC.1:2010, Annex E,
// and B. Lindbloom, "Chromatic Adaptation").
func adapt(c lab.Color) lab.Color {
	x, y, z := c.XYZ() // relative to D65: move it to the white of C first
	v := [3]float64{x / lab.White[0] * illuminantC[0], y, z / lab.White[2] * illuminantC[2]}
	from, to, cone := multiply(bradford, illuminantC), multiply(bradford, lab.White), multiply(bradford, v)
	for i := range cone {
		cone[i] *= to[i] / from[i]
	}
	v = multiply(bradfordInverse, cone)
	return lab.FromXYZ(v[0], v[1], v[2])
}

var (
	bradford = [3][3]float64{
		{0.8951, 0.2664, -0.1614},
		{-0.7502, 1.7135, 0.0367},
		{0.0389, -0.0685, 1.0296},
	}
	bradfordInverse = [3][3]float64{
		{0.9869929, -0.1470543, 0.1599627},
		{0.4323053, 0.5183603, 0.0492912},
		{-0.0085287, 0.0400428, 0.9684867},
	}
)

func multiply(m [3][3]float64, v [3]float64) (r [3]float64) {
	for i := range r {
		r[i] = float64(m[i][0]*v[0]) + float64(m[i][1]*v[1]) + float64(m[i][2]*v[2])
	}
	return r
}

// neutral returns the gray of a Munsell value: illuminant C's own chromaticity
// (so a gray of D65 after adaptation) and the luminance factor of ASTM D1535,
// whose polynomial is that of 1943 (S. M. Newhall, D. Nickerson, D. B. Judd,
// JOSA 33, 385) times .975, which makes Y relative to a perfect white instead
// of magnesium oxide.
func neutral(v float64) chip {
	y := v * (1.1914 + float64(v*(-0.22533+float64(v*(0.23352+float64(v*(-0.020484+float64(v*0.00081939))))))))
	y = math.Min(1, y/100)
	return chip{-1, v, 0, lab.FromXYZ(y*lab.White[0], y, y*lab.White[2])}
}
