package kit

import "kitwright/chart"

// Sweep proposes a color for every lone drill of the photo, row by row: of its
// neighbors' colors the one that comes closest to what the drill should show,
// with the difference before and after. Border and caption are left alone. It
// returns nothing where the kit has no target.
func (k *Kit) Sweep() []Proposal {
	if k.Target == nil {
		return nil
	}
	c := k.Chart
	labs := c.Labs()
	var out []Proposal
	for i := range c.Cells {
		x, y := i%c.Cols, i/c.Cols
		if k.Target.Shows[i] == OnFrame || !c.Lone(x, y) {
			continue
		}
		off := func(color uint16) int32 { return misses1(k.Target.Grid.Cells[i], labs[color]) }
		best := -1
		for _, n := range [4][2]int{{0, -1}, {-1, 0}, {1, 0}, {0, 1}} {
			nx, ny := x+n[0], y+n[1]
			if nx < 0 || ny < 0 || nx >= c.Cols || ny >= c.Rows {
				continue
			}
			if v := c.Cells[ny*c.Cols+nx]; best < 0 || off(v) < off(uint16(best)) || off(v) == off(uint16(best)) && int(v) < best {
				best = int(v)
			}
		}
		if best < 0 {
			continue
		}
		out = append(out, Proposal{
			Edit: Edit{Act: Set, Area: chart.Box{X: x, Y: y, W: 1, H: 1}, To: c.Legend[best].Drill},
			From: int(c.Cells[i]), To: best, Before: float64(off(c.Cells[i])) / 1e4, After: float64(off(uint16(best))) / 1e4,
		})
	}
	return out
}

// Proposal is an edit that may be wanted, with what it changes.
type Proposal struct {
	Edit
	From, To      int     // indices of the legend
	Before, After float64 // CIEDE2000 off the photo
}
