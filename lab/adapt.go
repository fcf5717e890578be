package lab

// D50 is the white of printing and of profiles, XYZ as ASTM E308 and ICC.1
// give it.
var D50 = [3]float64{0.96422, 1, 0.82521}

// bradford is the cone matrix of K. M. Lam (1985) as printed in ICC.1:2022,
// annex E.
var bradford = [3][3]float64{
	{0.8951, 0.2664, -0.1614},
	{-0.7502, 1.7135, 0.0367},
	{0.0389, -0.0685, 1.0296},
}

var bradfordBack = inverse(bradford)

// Adapt returns XYZ under D65 of what has this XYZ under another white, by the
// linear Bradford transform. Y of both whites is 1.
func Adapt(xyz, white [3]float64) [3]float64 {
	if white == White {
		return xyz
	}
	from, to, cone := times(bradford, white), times(bradford, White), times(bradford, xyz)
	for i := range cone {
		cone[i] *= to[i] / from[i]
	}
	return times(bradfordBack, cone)
}

// Relative returns the color of CIE L*a*b* values that are relative to another
// white.
func Relative(l, a, b float64, white [3]float64) Color {
	if white == White {
		return Color{L: l, A: a, B: b}
	}
	xyz := Adapt(Color{L: l, A: a, B: b}.under(white), white)
	return FromXYZ(xyz[0], xyz[1], xyz[2])
}
