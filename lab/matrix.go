package lab

func times(m [3][3]float64, v [3]float64) (p [3]float64) {
	for i, row := range m {
		p[i] = float64(row[0]*v[0]) + float64(row[1]*v[1]) + float64(row[2]*v[2])
	}
	return p
}

// inverse returns the inverse of a matrix by its cofactors.
func inverse(m [3][3]float64) (inv [3][3]float64) {
	var det float64
	for i := range 3 {
		for j := range 3 {
			a, b, c, d := (j+1)%3, (j+2)%3, (i+1)%3, (i+2)%3
			inv[i][j] = float64(m[a][c]*m[b][d]) - float64(m[a][d]*m[b][c])
		}
		det += float64(m[0][i] * inv[i][0])
	}
	for i := range 3 {
		for j := range 3 {
			inv[i][j] /= det
		}
	}
	return inv
}
