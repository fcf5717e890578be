package look

import (
	"math"
	"sync"
)

// A stone is lit as a few flat facets. All stones of one shape and size share
// the facets' outlines; they differ by how they lie in the glue, which one of
// tilts*tilts bins tells. For every bin a tile holds what each pixel of the
// cell receives; painting a stone is then three integer multiply-adds a pixel.
//
// The model (facet slopes, light, glint) is our own, judged by eye; no
// photograph of stones was measured for it.
const (
	tilts    = 9      // bins of tilt an axis
	maxTilt  = 0.0612 // tan 3.5 degrees: the slope of the outermost bin
	one      = 1 << 14
	light    = 1 << 16 // full linear light
	phaseOne = 1 << 10 // one turn of the coat's color
)

// Shapes, in shares of the cell or of the stone's half width.
const (
	squareHalf    = 0.478 // half width: between stones stay 4.4 % of the pitch
	squareTable   = 0.56  // where the flat top ends
	squareMiddle  = 0.78  // where the inner bevel meets the outer
	roundHalf     = 0.4925
	roundTable    = 0.50
	roundGirdle   = 0.80 // where the girdle's facets begin
	slope30       = 0.57735026918962576
	innerSlope    = 0.55 * slope30
	squareRim     = 0.93
	squareRimDip  = 2.2 * slope30
	girdleSlope   = 1.6 * slope30
	shadeFrom     = 0.955 // the rim is in its neighbor's shadow from here
	shade         = 0.75
	cos45         = 0.70710678118654752
	cos225        = 0.92387953251128676 // 22.5 degrees
	sin225        = 0.38268343236508977
	samplesAcross = 384 // points that a cell is cut into, each way
)

// facet is a flat part of a stone: its slope outward in x and y (y down), and
// the share of light that reaches it.
type facet struct{ x, y, open float64 }

// tile is a stone in one tilt: for each pixel of the cell, row by row, the
// light it gets relative to the stone's mean, and the glint, both already
// times the share of the pixel that the stone covers.
type tile struct {
	diffuse []int32 // of one: sums to the stone's cover
	glint   []int32 // of light
	phase   []int32 // of phaseOne: where the coat's color stands
	mean    int64   // of light: mean glint of the stone
	// Brightest pixels, cover divided out.
	maxDiffuse, maxGlint int64
}

// tileSet is all that a shape and size need.
type tileSet struct {
	px    int
	cover []int32 // of one: share of each pixel that is stone
	tiles [tilts * tilts]tile
}

type tileKey struct {
	round bool
	px    int
}

var tileSets sync.Map // tileKey -> func() *tileSet

// tilesFor returns the tiles of a shape at px pixels a stone, made once.
func tilesFor(round bool, px int) *tileSet {
	key := tileKey{round, px}
	made, ok := tileSets.Load(key)
	if !ok {
		made, _ = tileSets.LoadOrStore(key, sync.OnceValue(func() *tileSet { return newTileSet(round, px) }))
	}
	return made.(func() *tileSet)()
}

func newTileSet(round bool, px int) *tileSet {
	facets := squareFacets()
	at := squareFacetAt
	if round {
		facets, at = roundFacets(), roundFacetAt
	}
	// How many sample points of each pixel lie on each facet.
	ss := samplesAcross / px
	shares := make([][]int64, px*px)
	for i := range shares {
		shares[i] = make([]int64, len(facets))
	}
	span := float64(px * ss)
	for y := 0; y < px*ss; y++ {
		for x := 0; x < px*ss; x++ {
			if f := at((float64(x)+0.5)/span-0.5, (float64(y)+0.5)/span-0.5); f >= 0 {
				shares[y/ss*px+x/ss][f]++
			}
		}
	}
	set := &tileSet{px: px, cover: make([]int32, px*px)}
	whole := int64(ss * ss)
	for i, s := range shares {
		set.cover[i] = int32((sum(s)*one + whole/2) / whole)
	}
	for i := range set.tiles {
		tx := maxTilt * float64(i%tilts-tilts/2) / (tilts / 2)
		ty := maxTilt * float64(i/tilts-tilts/2) / (tilts / 2)
		set.tiles[i] = newTile(facets, tx, ty, shares, whole)
	}
	return set
}

// newTile lights the facets of a stone tilted by the slopes tx and ty. Facets
// get integers, so whatever follows is the same on every machine.
func newTile(facets []facet, tx, ty float64, shares [][]int64, whole int64) tile {
	diffuse := make([]int64, len(facets))
	glint := make([]int64, len(facets))
	phase := make([]int64, len(facets))
	for i, f := range facets {
		d, s, nh := lit(f.x+tx, f.y+ty)
		diffuse[i] = int64(math.Round(float64(d*f.open) * light))
		glint[i] = int64(math.Round(float64(s*f.open) * light))
		phase[i] = int64(math.Round(2.2 * nh * phaseOne))
	}
	n := len(shares)
	t := tile{diffuse: make([]int32, n), glint: make([]int32, n), phase: make([]int32, n)}
	var points, sumDiffuse, sumGlint int64
	for _, s := range shares {
		for f, k := range s {
			points += k
			sumDiffuse += k * diffuse[f]
			sumGlint += k * glint[f]
		}
	}
	t.mean = (sumGlint + points/2) / points
	for i, s := range shares {
		var k, d, g, p int64
		for f, count := range s {
			k += count
			d += count * diffuse[f]
			g += count * glint[f]
			p += count * phase[f]
		}
		if k == 0 {
			continue
		}
		t.diffuse[i] = int32(math.Round(float64(d) * float64(points) / float64(whole) * one / float64(sumDiffuse)))
		t.glint[i] = int32((g + whole/2) / whole)
		t.phase[i] = int32(p / k)
		t.maxDiffuse = max(t.maxDiffuse, int64(t.diffuse[i])*whole/k+1)
		t.maxGlint = max(t.maxGlint, g/k+1)
	}
	return t
}

// Directions of the light from the upper left, and halfway between it and the
// eye; the second is a weak reflex of the room at the lower right.
var (
	lightDir = unit(-0.45, -0.62, 0.64)
	halfway  = unit(lightDir[0], lightDir[1], lightDir[2]+1)
	reflex   = func() [3]float64 { r := unit(0.25, 0.55, 0.80); return unit(r[0], r[1], r[2]+1) }()
)

// lit returns the diffuse light and the glint of a facet with the outward
// slopes x and y, and the cosine to the halfway vector.
func lit(x, y float64) (diffuse, glint, nh float64) {
	n := unit(x, y, 1)
	diffuse = 0.20 + float64(0.80*math.Max(0, dot(n, lightDir))/lightDir[2])
	nh = math.Max(0, dot(n, halfway))
	glint = float64(0.55*power(nh, 38)) + float64(0.10*power(math.Max(0, dot(n, reflex)), 60))
	return diffuse, glint, nh
}

func unit(x, y, z float64) [3]float64 {
	l := math.Sqrt(float64(x*x) + float64(y*y) + float64(z*z))
	return [3]float64{x / l, y / l, z / l}
}

func dot(a, b [3]float64) float64 {
	return float64(a[0]*b[0]) + float64(a[1]*b[1]) + float64(a[2]*b[2])
}

// power multiplies, because math.Pow may differ in the last bit by processor.
func power(v float64, n int) float64 {
	p := 1.0
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			p *= v
		}
		v *= v
	}
	return p
}

func sum(s []int64) (n int64) {
	for _, v := range s {
		n += v
	}
	return n
}

// squareFacets: the table, then for each of the sides right, down, left, up an
// inner bevel, an outer bevel, a rim and a rim in shadow.
func squareFacets() []facet {
	f := []facet{{0, 0, 1}}
	for _, d := range [][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}} {
		for _, s := range [][2]float64{{innerSlope, 1}, {slope30, 1}, {squareRimDip, 1}, {squareRimDip, shade}} {
			f = append(f, facet{d[0] * s[0], d[1] * s[0], s[1]})
		}
	}
	return f
}

// squareFacetAt returns the facet at a place in the cell, from its middle in
// cells, or -1 beside the stone.
func squareFacetAt(x, y float64) int {
	x, y = x/squareHalf, y/squareHalf
	far, side := x, 0
	if y > far {
		far, side = y, 1
	}
	if -x > far {
		far, side = -x, 2
	}
	if -y > far {
		far, side = -y, 3
	}
	switch {
	case far > 1:
		return -1
	case far <= squareTable:
		return 0
	case far <= squareMiddle:
		return 1 + 4*side
	case far <= squareRim:
		return 2 + 4*side
	case far <= shadeFrom:
		return 3 + 4*side
	}
	return 4 + 4*side
}

var (
	crown  = [8][2]float64{{1, 0}, {cos45, cos45}, {0, 1}, {-cos45, cos45}, {-1, 0}, {-cos45, -cos45}, {0, -1}, {cos45, -cos45}}
	girdle = [8][2]float64{{cos225, sin225}, {sin225, cos225}, {-sin225, cos225}, {-cos225, sin225},
		{-cos225, -sin225}, {-sin225, -cos225}, {sin225, -cos225}, {cos225, -sin225}}
)

// roundFacets: the eight-sided table, eight crown facets, eight girdle facets
// half a turn between them, and the same in shadow at the rim.
func roundFacets() []facet {
	f := []facet{{0, 0, 1}}
	for _, d := range crown {
		f = append(f, facet{d[0] * slope30, d[1] * slope30, 1})
	}
	for _, open := range []float64{1, shade} {
		for _, d := range girdle {
			f = append(f, facet{d[0] * girdleSlope, d[1] * girdleSlope, open})
		}
	}
	return f
}

func roundFacetAt(x, y float64) int {
	x, y = x/roundHalf, y/roundHalf
	r := math.Sqrt(float64(x*x) + float64(y*y))
	if r > 1 {
		return -1
	}
	side, far := nearest(crown, x, y)
	switch {
	case far <= roundTable:
		return 0
	case r <= roundGirdle:
		return 1 + side
	}
	side, _ = nearest(girdle, x, y)
	if r <= shadeFrom {
		return 9 + side
	}
	return 17 + side
}

func nearest(dirs [8][2]float64, x, y float64) (side int, far float64) {
	for i, d := range dirs {
		if v := float64(d[0]*x) + float64(d[1]*y); v > far {
			side, far = i, v
		}
	}
	return side, far
}
