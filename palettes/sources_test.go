package palettes

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
)

// munsellInR asks Debian's package r-cran-munsell (C. Wickham, Expat) for its
// table of notations and sRGB values and for the folder of its data files.
func munsellInR(t *testing.T) (hex map[string]string, folder string) {
	checker.Need(t, "Rscript")
	out, err := exec.Command("Rscript", "-e",
		`cat(system.file("raw", package="munsell"), "\n"); m <- munsell:::munsell.map; m <- m[!is.na(m$hex), ]; write.csv(data.frame(m$name, m$hex), row.names=FALSE)`).Output()
	if err != nil {
		checker.Missing(t, "the R package munsell")
	}
	first, rest, _ := strings.Cut(string(out), "\n")
	rows, err := csv.NewReader(strings.NewReader(rest)).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 1000)
	hex = map[string]string{}
	for _, row := range rows[1:] {
		hex[row[0]] = row[1]
	}
	return hex, strings.TrimSpace(first)
}

// misprint is the one renotation of the card on which the R package and the
// Munsell Color Science Laboratory's own files disagree: x is .3436 in the
// first, .3476 in the second. The neighbors 7.5Y 4/2 (.3542) and 2.5GY 4/2
// (.3382) speak for the second, which the card follows.
const misprint = "10Y 4/2"

// The R package computes sRGB from the renotation data with a program of its
// own, but takes Y as the tables print it, relative to magnesium oxide. So its
// colors are lighter than ours: CIEDE2000 0.53 on average, 0.82 at most. With Y
// made alike (divided by .975) the two differ by what 8 bits leave: 0.18 on
// average, 0.76 at most, among the darkest.
func TestMunsellAgainstR(t *testing.T) {
	hex, _ := munsellInR(t)
	var direct, sameY stat
	for _, d := range named(t, "munsell").Drills {
		other, ok := hex[d.Code]
		if !ok || strings.HasPrefix(d.Code, "N") {
			continue // its grays are from elsewhere, and it has none of the very dark
		}
		if d.Code == misprint {
			continue
		}
		rgb, ok := lab.ParseHex(other)
		require.True(t, ok, other)
		theirs := lab.FromSRGB(rgb)
		x, y, z := d.Lab.XYZ()
		lighter := lab.FromXYZ(x/0.975, y/0.975, z/0.975)
		direct.add(lab.DeltaE(theirs, d.Lab), d.Code)
		if _, inside := lighter.SRGB(); inside {
			sameY.add(lab.DeltaE(theirs, lighter), d.Code)
		}
	}
	t.Logf("as they are: %v", direct)
	t.Logf("with the same Y: %v", sameY)
	assert.Equal(t, 398, direct.n)
	assert.Greater(t, sameY.n, 380)
	assert.LessOrEqual(t, direct.mean(), 0.54)
	assert.LessOrEqual(t, direct.most, 0.83)
	assert.LessOrEqual(t, sameY.mean(), 0.19)
	assert.LessOrEqual(t, sameY.most, 0.77)
}

// The chromaticities of 1943 as the R package carries them (real.dat), turned
// into Lab by the arithmetic of this test, against the card.
func TestMunsellAgainstPublishedChromaticities(t *testing.T) {
	_, folder := munsellInR(t)
	table := renotations(t, filepath.Join(folder, "real.dat"))
	var s stat
	for _, d := range named(t, "munsell").Drills {
		if c, ok := table[d.Code]; ok && d.Code != misprint {
			s.add(lab.DeltaE(c, d.Lab), d.Code)
		}
	}
	t.Log(s)
	assert.Equal(t, 403, s.n)
	assert.LessOrEqual(t, s.most, 0.01)
}

// The near-neutrals are in no table. At their hue and value the published
// chromaticities of illuminant C and of chroma 2 (real.dat of the R package)
// stand on either side: straight between these in x and y, which is how ASTM
// D1535 interpolates, they must lie, too, as far as Lab and x, y agree on what
// straight is; and halfway between the two colors in difference.
func TestMunsellNearNeutralsAgainstPublished(t *testing.T) {
	_, folder := munsellInR(t)
	table := renotations(t, filepath.Join(folder, "real.dat"))
	var off, far, even stat
	for _, d := range named(t, "munsell").Drills {
		hue, isNear := strings.CutSuffix(d.Code, "/1")
		if !isNear || hue+"/2" == misprint {
			continue
		}
		two, ok := table[hue+"/2"]
		require.True(t, ok, d.Code)
		gray := lab.Color{L: two.L}
		off.add(lab.DeltaE(d.Lab, betweenXY(gray, two)), d.Code)
		toGray, toTwo := math.Hypot(d.Lab.A, d.Lab.B), math.Hypot(two.A-d.Lab.A, two.B-d.Lab.B)
		even.add(math.Abs(toGray-toTwo), d.Code)
		far.add(math.Abs(d.Lab.L-two.L), d.Code)
	}
	t.Logf("off the middle in x, y: %v; in lightness: %v; nearer to one: %v", off, far, even)
	assert.Equal(t, 44, off.n)
	assert.LessOrEqual(t, off.most, 0.6)
	assert.LessOrEqual(t, even.most, 0.02)
	assert.LessOrEqual(t, far.most, 0.02)
}

// betweenXY is the color with the mean of two colors' chromaticities x and y at
// their luminance.
func betweenXY(a, b lab.Color) lab.Color {
	ax, ay, az := a.XYZ()
	bx, by, bz := b.XYZ()
	x := (ax/(ax+ay+az) + bx/(bx+by+bz)) / 2
	y := (ay/(ax+ay+az) + by/(bx+by+bz)) / 2
	return lab.FromXYZ(x/y*by, by, (1-x-y)/y*by)
}

// Near-neutrals leave smaller holes beside the grays: CIEDE2000 from colors of
// C*ab 2 to 5, 3.0 on average. (Grays at every quarter of value in their place
// left 4.1.)
func TestMunsellBesideTheGrays(t *testing.T) {
	c := named(t, "munsell")
	largest, mean, at, n := holes(c, 1, func(p lab.Color) bool {
		chroma := math.Hypot(p.A, p.B)
		return p.L >= 10 && p.L <= 95 && chroma >= 2 && chroma <= 5
	})
	t.Logf("C* 2 to 5: largest %.4f at %v, mean %.4f, %d colors", largest, at, mean, n)
	assert.LessOrEqual(t, mean, 3.1)
	assert.LessOrEqual(t, largest, 5.9)
}

// The ISCC-NBS centroids against the table of G. Davis (after Kelly, RP2911)
// and the renotation tables of RIT, both in the folder KITWRIGHT_CENTROIDS.
// Two centroids are themselves renotations: there the colors must agree. For
// the others this test interpolates in its own, plainer way: CIEDE2000 0.21 on
// average, 2.04 at most.
func TestNBSAgainstKelly(t *testing.T) {
	folder := checker.Folder(t, "KITWRIGHT_CENTROIDS")
	table := renotations(t, filepath.Join(folder, "all.dat"))
	f, err := os.Open(filepath.Join(folder, "Centroids_ISCC-NBS.txt"))
	require.NoError(t, err)
	defer f.Close()
	card := named(t, "nbs")
	notations := strings.Split(strings.TrimSpace(nbsCSV), "\n")[4:]
	rows := 0
	var nodes, between stat
	for in := bufio.NewScanner(f); in.Scan(); {
		fields := strings.Split(strings.TrimSpace(in.Text()), "\t")
		if len(fields) != 3 || !strings.ContainsAny(fields[0][:1], "123456789") {
			continue
		}
		d := card.Drills[rows]
		assert.Equal(t, fields[0], d.Code)
		assert.Equal(t, fields[1], d.Name)
		assert.Contains(t, notations[rows], ","+fields[2]+",")
		rows++
		if c, exact, ok := interpolate(table, fields[2]); ok && exact {
			nodes.add(lab.DeltaE(c, d.Lab), fields[2])
		} else if ok {
			between.add(lab.DeltaE(c, d.Lab), fields[2])
		}
	}
	t.Logf("on renotations: %v; between them: %v", nodes, between)
	assert.Equal(t, 267, rows)
	assert.Greater(t, nodes.n, 1)
	assert.Greater(t, between.n, 200)
	assert.LessOrEqual(t, nodes.most, 0.02)
	assert.LessOrEqual(t, between.mean(), 0.21)
	assert.LessOrEqual(t, between.most, 2.05)
}

// stat gathers differences.
type stat struct {
	n         int
	sum, most float64
	worst     string
}

func (s *stat) add(d float64, what string) {
	s.n++
	s.sum += d
	if d > s.most {
		s.most, s.worst = d, what
	}
}

func (s stat) mean() float64 { return s.sum / float64(s.n) }

func (s stat) String() string {
	return fmt.Sprintf("%d colors, mean %.3f, most %.3f (%s)", s.n, s.mean(), s.most, s.worst)
}

// renotations reads lines of hue, value, chroma, x, y, Y and returns Lab D65
// by notation: Y times .975, C to D65 by the Bradford matrix that B. Lindbloom
// publishes ("Chromatic Adaptation").
func renotations(t *testing.T, path string) map[string]lab.Color {
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	table := map[string]lab.Color{}
	for _, line := range strings.Split(string(text), "\n") {
		var hue string
		var v, c, x, y, yy float64
		if n, _ := fmt.Sscan(line, &hue, &v, &c, &x, &y, &yy); n < 6 || y <= 0 {
			continue
		}
		yy *= 0.975 / 100
		xx, zz := x/y*yy, (1-x-y)/y*yy
		table[key(hue, v, c)] = lab.FromXYZ(
			0.9904476*xx-0.0071683*yy-0.0116156*zz,
			-0.0123712*xx+1.0155950*yy-0.0029282*zz,
			-0.0035635*xx+0.0067697*yy+0.9181569*zz)
	}
	require.Greater(t, len(table), 2000, "not a renotation table")
	return table
}

func key(hue string, v, c float64) string { return fmt.Sprintf("%s %g/%g", hue, v, c) }

var hueOrder = []string{"R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"}

// interpolate finds the color of a notation such as 7.6R 9.2/1.0, linearly in
// hue, value and chroma between the colors around it, gray being at chroma 0.
func interpolate(table map[string]lab.Color, notation string) (c lab.Color, exact, ok bool) {
	hue, rest, _ := strings.Cut(notation, " ")
	value, chroma, _ := strings.Cut(rest, "/")
	v, err := strconv.ParseFloat(value, 64)
	if err != nil || hue == "N" {
		return c, false, false
	}
	ch, err := strconv.ParseFloat(chroma, 64)
	if err != nil {
		return c, false, false
	}
	letters := strings.TrimLeft(hue, "0123456789.")
	step, err := strconv.ParseFloat(strings.TrimSuffix(hue, letters), 64)
	if err != nil {
		return c, false, false
	}
	at := -1
	for i, l := range hueOrder {
		if l == letters {
			at = i
		}
	}
	h := step/2.5 + float64(at)*4 // 40 steps, 1 = 2.5R
	around := func(x, unit float64) (lo, hi, share float64) {
		lo = math.Floor(x/unit) * unit
		if lo == x {
			return lo, lo, 0
		}
		return lo, lo + unit, (x - lo) / unit
	}
	unit := 1.0
	if v < 1 {
		unit = 0.2
	}
	h0, h1, hs := around(h, 1)
	v0, v1, vs := around(v, unit)
	c0, c1, cs := around(ch, 2)
	ok = true
	get := func(h, v, c float64) lab.Color {
		if c == 0 {
			y := v * (1.1914 + v*(-0.22533+v*(0.23352+v*(-0.020484+v*0.00081939)))) / 100
			return lab.FromXYZ(y*lab.White[0], y, y*lab.White[2])
		}
		n := (int(h) + 39) % 40 // 0 = 2.5R
		got, found := table[key(fmt.Sprintf("%g%s", 2.5*float64(n%4+1), hueOrder[n/4]), math.Round(v*10)/10, c)]
		ok = ok && found
		return got
	}
	mix := func(a, b lab.Color, s float64) lab.Color {
		return lab.Color{L: a.L + s*(b.L-a.L), A: a.A + s*(b.A-a.A), B: a.B + s*(b.B-a.B)}
	}
	plane := func(v float64) lab.Color {
		return mix(mix(get(h0, v, c0), get(h1, v, c0), hs), mix(get(h0, v, c1), get(h1, v, c1), hs), cs)
	}
	return mix(plane(v0), plane(v1), vs), hs+vs+cs == 0, ok
}
