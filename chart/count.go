package chart

// Confetti returns how many drills have no neighbor of the same color above,
// below, left or right: lone drills, each set on its own.
func (c *Chart) Confetti() int { return Confetti(c.Cols, c.Rows, c.Cells) }

// Confetti is Chart.Confetti for any cells, row by row from the top left.
func Confetti(cols, rows int, cells []uint16) int {
	lone := 0
	for y := 0; y < rows; y++ {
		for x := 0; x < cols; x++ {
			i := y*cols + x
			v := cells[i]
			if (x == 0 || cells[i-1] != v) && (x+1 == cols || cells[i+1] != v) &&
				(y == 0 || cells[i-cols] != v) && (y+1 == rows || cells[i+cols] != v) {
				lone++
			}
		}
	}
	return lone
}

// Run is a row of neighboring drills of one color: what a multi-placer sets at
// once.
type Run struct {
	X, Y, Length int
	Color        int // index into the legend
}

// Runs returns the chart as runs, row by row from the top left. Together they
// cover every cell once.
func (c *Chart) Runs() []Run {
	var runs []Run
	for y := 0; y < c.Rows; y++ {
		row := c.Cells[y*c.Cols : (y+1)*c.Cols]
		for x := 0; x < len(row); {
			end := x + 1
			for end < len(row) && row[end] == row[x] {
				end++
			}
			runs = append(runs, Run{X: x, Y: y, Length: end - x, Color: int(row[x])})
			x = end
		}
	}
	return runs
}
