package plan

import (
	"strings"

	"kitwright/internal/say"
)

// IsMass says whether a text is meant as a mass, such as 83.5g.
func IsMass(text string) bool {
	_, _, ok := readMass(plainMass(text))
	return ok
}

func plainMass(text string) string {
	return strings.ReplaceAll(strings.ToLower(strings.TrimSpace(text)), " ", "")
}

// Count returns how many drills a mass such as "83.5g" stands for, and by how
// many that may be off: each of the two displays by half a step either way
// (JCGM 100:2008, F.2.2.1), and nothing else is in the figure.
func (w Weighed) Count(text string) (drills, off int, err error) {
	if w.Drills == 0 {
		return 0, 0, say.Usage("count some of them, weigh them without their bag and say {weighed} 500=4.2g", "it was not said what the drills weigh")
	}
	v, step, ok := readMass(plainMass(text))
	if !ok {
		return 0, 0, say.Usage("write it as in 83.5g", "%q is not a weight", text)
	}
	if v > 0 && 2*step > v {
		return 0, 0, say.Usage("count so few, or use a finer scale", "a scale with steps of %sg cannot weigh %sg", trimmed(step), trimmed(v))
	}
	n := int64(w.Drills)
	// In halves of micrograms, rounded away from the middle for the ends.
	mass, of := 2*int64(v), 2*int64(w.Weight)
	middle := (2*mass*n + of) / (2 * of)
	low := (mass - int64(step)) * n / (of + int64(w.Step))
	high := ((mass+int64(step))*n + of - int64(w.Step) - 1) / (of - int64(w.Step))
	return int(middle), int(max(middle-low, high-middle)), nil
}
