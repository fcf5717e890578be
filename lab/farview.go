package lab

import (
	"math"

	"kitwright/internal/par"
)

// How a picture of drills looks from across the room: S-CIELAB, the spatial
// extension of the color difference (X. Zhang, B. A. Wandell, "A spatial
// extension of CIELAB for digital color-image reproduction", SID Digest 1996;
// 731-734). Both pictures are split into brightness, red-green and
// blue-yellow, each blurred as the eye blurs it, put together again, and
// compared cell by cell.
//
// Taken from it: the opponent matrix and the weights of the authors' own code
// (github.com/wandell/SCIELAB-1996), and the paper's spreads s of
// exp(-r*r/(s*s)), so that a standard deviation is s/sqrt(2). Some later
// programs read the code's full widths at half height as half widths and blur
// twice too much; some have a minus before .0771569.
//
// Ours: drills are flat squares much wider than the finest kernel, so each
// kernel is integrated over cells in closed form instead of sampled, and the
// difference is CIEDE2000 (as G. M. Johnson and M. D. Fairchild propose, "A
// top down description of S-CIELAB and CIEDE2000", Color Res. Appl. 28, 2003).

// toOpponent turns XYZ (2 degree observer, Y of white 1) into brightness,
// red-green and blue-yellow.
var toOpponent = [3][3]float64{
	{0.2787336, 0.7218031, -0.1065520},
	{-0.4487736, 0.2898056, 0.0771569},
	{0.0859513, -0.5899859, 0.5011089},
}

// OpponentToXYZ is the inverse of the opponent matrix.
var OpponentToXYZ = inverse(toOpponent)

// Opponent returns a color's brightness, red-green and blue-yellow: the linear
// light that the eye blurs each in its own way.
func Opponent(c Color) [3]float64 {
	x, y, z := c.XYZ()
	return times(toOpponent, [3]float64{x, y, z})
}

// FromOpponent returns the CIE XYZ (Y of white 1) of opponent light.
func FromOpponent(light [3]float64) [3]float64 { return times(OpponentToXYZ, light) }

type gaussian struct{ weight, sigma float64 } // sigma in degrees

// Blur of the three opponent channels; each channel's weights sum to 1, so a
// flat area keeps its color.
var eye = [3][]gaussian{
	{{1.00327, 0.0283 / math.Sqrt2}, {0.114416, 0.133 / math.Sqrt2}, {-0.117686, 4.336 / math.Sqrt2}},
	{{0.616725, 0.0392 / math.Sqrt2}, {0.383275, 0.494 / math.Sqrt2}},
	{{0.567885, 0.0536 / math.Sqrt2}, {0.432115, 0.386 / math.Sqrt2}},
}

// EyeKernel is a Gaussian of the eye's blur over cells: what a cell gets from
// those At[j] cells away along a row, then a column, and the Gaussian's share
// of its channel.
type EyeKernel struct {
	At     []float64 // sums to 1 over -reach..reach
	Weight float64
}

// EyeKernels returns the narrow Gaussian of each channel: brightness, red-green
// and blue-yellow. Brightness gets weight 1, since its other two nearly cancel.
func EyeKernels(cellsPerDegree float64, reach int) (k [3]EyeKernel) {
	for i, channel := range eye {
		k[i] = EyeKernel{cellKernel(channel[0].sigma*cellsPerDegree, reach), math.Min(1, channel[0].weight)}
	}
	return k
}

// CellsPerDegree returns how many drills of a pitch make up one degree of the
// eye's view from a distance, both in mm: 2.5 mm from 2 m gives 13.96.
func CellsPerDegree(pitchMM, distanceMM float64) float64 {
	return math.Pi / 180 / (2 * math.Atan(pitchMM/(2*distanceMM)))
}

// FarView compares pictures with one target as both look from a distance.
type FarView struct {
	cols, rows int
	kernels    [3][][]float64 // of each channel's Gaussians, weights outside
	target     []Color        // as seen
}

// NewFarView prepares a target for a view of cellsPerDegree drills a degree.
func NewFarView(target *Grid, cellsPerDegree float64) *FarView {
	f := &FarView{cols: target.Cols, rows: target.Rows}
	for i, channel := range eye {
		for _, g := range channel {
			f.kernels[i] = append(f.kernels[i], cellKernel(g.sigma*cellsPerDegree, int(cellsPerDegree/2)))
		}
	}
	f.target = f.seen(target)
	return f
}

// Miss returns the visible difference between made and the target in each
// cell, as seen from the distance: CIEDE2000, rounded to 4 decimals. Both
// grids have the same size.
func (f *FarView) Miss(made *Grid) []float64 {
	return f.compare(made, func(a, b Color) float64 { return math.Round(DeltaE(a, b)*1e4) / 1e4 })
}

func (f *FarView) compare(made *Grid, difference func(a, b Color) float64) []float64 {
	miss := make([]float64, len(f.target))
	for i, c := range f.seen(made) {
		miss[i] = difference(f.target[i], c)
	}
	return miss
}

// FarMiss returns the visible difference between two grids of one size in
// each cell when cellsPerDegree drills make up a degree of the view:
// CIEDE2000, rounded to 4 decimals.
func FarMiss(target, made *Grid, cellsPerDegree float64) []float64 {
	return NewFarView(target, cellsPerDegree).Miss(made)
}

// MeanMiss returns the mean of differences, rounded to 4 decimals; 0 of none.
func MeanMiss(miss []float64) float64 {
	var sum int64 // of 1/10000, so that the order of adding never shows
	for _, m := range miss {
		sum += int64(math.Round(m * 1e4))
	}
	if len(miss) == 0 {
		return 0
	}
	return math.Round(float64(sum)/float64(len(miss))) / 1e4
}

// FarPicture returns how a grid looks from a distance at which cellsPerDegree
// drills make up a degree: linear light, blurred once as the eye blurs
// brightness. (The three blurs of the comparison are made for differences:
// shown as a picture they bleed color into the darks.)
func FarPicture(g *Grid, cellsPerDegree float64) *Grid {
	planes := split(g, func(c Color) [3]float64 {
		r, g, b := c.LinearRGB()
		return [3]float64{r, g, b}
	})
	kernel := cellKernel(eye[0][0].sigma*cellsPerDegree, int(cellsPerDegree/2))
	for i, p := range planes {
		planes[i] = blur(p, g.Cols, g.Rows, kernel)
	}
	far := NewGrid(g.Cols, g.Rows)
	for i := range far.Cells {
		far.Cells[i] = FromLinear(planes[0][i], planes[1][i], planes[2][i]).Round()
	}
	return far
}

// seen filters a grid as the eye does.
func (f *FarView) seen(g *Grid) []Color {
	planes := split(g, Opponent)
	par.Rows(len(planes), func(i int) {
		out := make([]float64, len(planes[i]))
		for j, kernel := range f.kernels[i] {
			for at, v := range blur(planes[i], f.cols, f.rows, kernel) {
				out[at] += float64(eye[i][j].weight * v)
			}
		}
		planes[i] = out
	})
	colors := make([]Color, len(g.Cells))
	for i := range colors {
		xyz := FromOpponent([3]float64{planes[0][i], planes[1][i], planes[2][i]})
		colors[i] = FromXYZ(math.Max(0, xyz[0]), math.Max(0, xyz[1]), math.Max(0, xyz[2]))
	}
	return colors
}

func split(g *Grid, of func(Color) [3]float64) (planes [3][]float64) {
	for i := range planes {
		planes[i] = make([]float64, len(g.Cells))
	}
	for i, c := range g.Cells {
		v := of(c)
		planes[0][i], planes[1][i], planes[2][i] = v[0], v[1], v[2]
	}
	return planes
}

// cellKernel returns what a Gaussian of standard deviation s cells makes of a
// picture of flat cells: the mean over a cell of the blurred picture is
// the sum of k[|j|] times the cell j steps away, |j| <= reach. The kernel sums
// to 1 over -reach..reach. Its values are multiples of 2^-30, so that every
// machine has the same.
func cellKernel(s float64, reach int) []float64 {
	// The second difference of the integral of the Gaussian's integral.
	f := func(x float64) float64 {
		x /= s
		return float64(s * (float64(x*0.5*math.Erfc(-x/math.Sqrt2)) + float64(math.Exp(-x*x/2)/math.Sqrt(2*math.Pi))))
	}
	k := make([]float64, reach+1)
	var sum float64
	for j := range k {
		k[j] = f(float64(j)+1) - float64(2*f(float64(j))) + f(float64(j)-1)
		sum += k[j]
		if j > 0 {
			sum += k[j]
		}
	}
	for j := range k {
		k[j] = math.Round(k[j]/sum*(1<<30)) / (1 << 30)
	}
	return k
}

// blur filters a plane with a kernel along its rows, then its columns. Beyond
// an edge the picture goes on as its mirror image.
func blur(p []float64, cols, rows int, kernel []float64) []float64 {
	across := make([]float64, len(p))
	reach := len(kernel) - 1
	line := make([]float64, cols+2*reach)
	for y := range rows {
		for i := range line {
			line[i] = p[y*cols+mirror(i-reach, cols)]
		}
		for x := range cols {
			mid := x + reach
			v := float64(kernel[0] * line[mid])
			for j := 1; j <= reach; j++ {
				v += float64(kernel[j] * (line[mid-j] + line[mid+j]))
			}
			across[y*cols+x] = v
		}
	}
	out := make([]float64, len(p))
	for y := range rows {
		row := out[y*cols : (y+1)*cols]
		for j := -reach; j <= reach; j++ {
			k := kernel[max(j, -j)]
			for x, v := range across[mirror(y+j, rows)*cols:][:cols] {
				row[x] += float64(k * v)
			}
		}
	}
	return out
}

func mirror(i, n int) int {
	i %= 2 * n
	if i < 0 {
		i += 2 * n
	}
	return min(i, 2*n-1-i)
}
