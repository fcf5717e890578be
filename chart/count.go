package chart

// Confetti returns how many drills have no neighbor of the same color above,
// below, left or right: lone drills, each set on its own.
func (c *Chart) Confetti() int {
	lone := 0
	for y := range c.Rows {
		for x := range c.Cols {
			if c.Lone(x, y) {
				lone++
			}
		}
	}
	return lone
}

// Lone says whether the drill in column x and row y has no neighbor of the
// same color above, below, left or right.
func (c *Chart) Lone(x, y int) bool {
	i := y*c.Cols + x
	v := c.Cells[i]
	return (x == 0 || c.Cells[i-1] != v) && (x+1 == c.Cols || c.Cells[i+1] != v) &&
		(y == 0 || c.Cells[i-c.Cols] != v) && (y+1 == c.Rows || c.Cells[i+c.Cols] != v)
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
