package look

import (
	"image"
	"image/draw"
	"math"

	"kitwright/internal/par"
	"kitwright/lab"
)

// part is a rectangle in a picture, in pixels from its corner.
type part struct{ x, y, w, h float64 }

func frame(img image.Image) part {
	b := img.Bounds()
	return part{0, 0, float64(b.Dx()), float64(b.Dy())}
}

// scaled returns a part of a picture at a size, averaged in linear light with
// a tent as wide as two pixels of the coarser one.
func scaled(img image.Image, p part, width, height int) *image.NRGBA {
	b := img.Bounds()
	src, ok := img.(*image.NRGBA)
	if !ok {
		src = image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
		draw.Draw(src, src.Rect, img, b.Min, draw.Src)
		b = src.Rect
	}
	across, down := tents(p.x, p.w, width, b.Dx()), tents(p.y, p.h, height, b.Dy())
	out := image.NewNRGBA(image.Rect(0, 0, width, height))
	par.Rows(height, func(y int) {
		line := make([][3]int64, b.Dx())
		t := down[y]
		for j, w := range t.weights {
			row := src.Pix[src.PixOffset(b.Min.X, b.Min.Y+t.from+j):]
			for x := across[0].from; x < across[width-1].from+len(across[width-1].weights); x++ {
				for k := range 3 {
					line[x][k] += w * int64(lab.Linear[row[4*x+k]]>>8)
				}
			}
		}
		for x, t := range across {
			var sum [3]int64
			for j, w := range t.weights {
				for k := range sum {
					sum[k] += w * (line[t.from+j][k] >> 14)
				}
			}
			o := out.Pix[out.PixOffset(x, y):]
			o[0], o[1], o[2], o[3] = toByte(sum[0]), toByte(sum[1]), toByte(sum[2]), 255
		}
	})
	return out
}

// tent is a run of source pixels and their weights, which sum to one.
type tent struct {
	from    int
	weights []int64
}

func tents(start, length float64, n, limit int) []tent {
	step := length / float64(n)
	reach := math.Max(1, step)
	all := make([]tent, n)
	for i := range all {
		mid := start + float64((float64(i)+0.5)*step) - 0.5
		from := max(0, int(math.Floor(mid-reach))+1)
		to := min(limit-1, int(math.Ceil(mid+reach))-1)
		from, to = min(from, limit-1), max(to, 0)
		if to < from {
			to = from
		}
		raw := make([]float64, to-from+1)
		var sum float64
		for j := range raw {
			raw[j] = math.Max(1e-9, 1-math.Abs(float64(from+j)-mid)/reach)
			sum += raw[j]
		}
		t := tent{from: from, weights: make([]int64, len(raw))}
		var whole int64
		most := 0
		for j, w := range raw {
			t.weights[j] = int64(math.Round(w / sum * one))
			whole += t.weights[j]
			if t.weights[j] > t.weights[most] {
				most = j
			}
		}
		t.weights[most] += one - whole
		all[i] = t
	}
	return all
}
