package subject

import "kitwright/photo"

const (
	sideNear = 0.03 // of the box: a subject this near to a side reaches it
	sideFar  = 0.3  // a side this far from the subject was not drawn for it
	sidePull = perUnit / 2
	sidePays = 4 // times as much, at most
)

// reach lets the subject reach the sides of the box: people draw one that the
// animal touches on all of them (V. Lempitsky, P. Kohli, C. Rother, T. Sharp,
// "Image segmentation with a bounding box prior", ICCV 2009, 277-284; there it
// is a constraint, here what the box says beyond the outline found so far counts
// more, half a unit of log odds at a time and up to two). A side stays as it
// is where that does not do, and where the animal reaches out of the opposite
// one: then the box was drawn beside it.
func reach(m *photo.Mask, score []int32, d drawn, f *flow, links []int32) {
	var pull [4]int32
	box := d.sides
	w, h := box[2]-box[0], box[3]-box[1]
	if w <= 0 || h <= 0 {
		return
	}
	gaps := func() (x0, y0, x1, y1 int, gap [4]float64) {
		x0, y0, x1, y1 = m.Box()
		return x0, y0, x1, y1, [4]float64{
			(float64(x0) - box[0]) / w, (float64(y0) - box[1]) / h,
			(box[2] - float64(x1)) / w, (box[3] - float64(y1)) / h,
		}
	}
	before := append([]bool(nil), m.In...)
	for step := 0; ; step++ {
		x0, y0, x1, y1, gap := gaps()
		lacks, given := false, false
		for k, g := range gap {
			switch {
			case g <= sideNear || g >= sideFar || gap[(k+2)%4] < -sideNear:
			case step < sidePays:
				pull[k] += sidePull
				lacks = true
			case pull[k] > 0: // in vain
				pull[k] = 0
				given = true
			}
		}
		if !lacks && !given {
			return
		}
		if given {
			copy(m.In, before)
			x0, y0, x1, y1, _ = gaps()
		}
		f.reset(links)
		for i, s := range score {
			x, y := i%m.Cols, i/m.Cols
			if u, v := float64(x)+0.5, float64(y)+0.5; d.fixed[i] == 0 && u > box[0] && v > box[1] && u < box[2] && v < box[3] {
				for k, beyond := range [4]bool{x <= x0, y <= y0, x >= x1-1, y >= y1-1} {
					if beyond {
						s += pull[k]
					}
				}
			}
			f.toEnd[f.at(x, y)] = s
		}
		f.cut()
		f.show(m)
		whole(m, d)
		if given {
			return
		}
	}
}

// show writes the cut into a mask.
func (f *flow) show(m *photo.Mask) {
	for i := range m.In {
		m.In[i] = f.tree[f.at(i%m.Cols, i/m.Cols)] == sourceTree
	}
}
