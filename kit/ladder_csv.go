package kit

import (
	"encoding/csv"
	"io"
	"strconv"

	"kitwright/plan"
)

// Pace is how many drills a person sets in an hour, slowly and quickly.
type Pace = plan.Pace

// WriteLadderCSV writes one row a rung. mean, p95, worst and off_2m are
// CIEDE2000; bound is what the mean of no as many colors of the card gets
// below; gap says how far above the least possible the choice in force may
// lie; confetti is the share of lone drills; runs_3 counts the runs of three
// drills and more; stopped says that the search was ended by hand, so that a
// bound of 0 stands for none known; asked is the count that was asked for, where
// more colors than it uses serve no drill; subject is the mean of the subject
// alone, where one is known, as off_2m is then; colors_under_30
// counts the colors with fewer than 30 drills.
func WriteLadderCSV(w io.Writer, rungs []Rung, pace Pace) error {
	out := csv.NewWriter(w)
	slow, fast := strconv.Itoa(pace.Slow), strconv.Itoa(pace.Fast)
	out.Write([]string{"colors", "mean", "p95", "worst", "bound", "gap", "off_2m", "confetti", "lone", "runs_3", "hours_at_" + slow, "hours_at_" + fast, "stopped", "asked", "subject", "colors_under_30"})
	dec := func(v float64, digits int) string { return strconv.FormatFloat(v, 'f', digits, 64) }
	for _, r := range rungs {
		n := float64(r.Chart.Drills())
		subject := ""
		if r.Subject > 0 {
			subject = dec(r.Subject, 4)
		}
		out.Write([]string{
			strconv.Itoa(r.Colors), dec(r.Mean, 4), dec(r.P95, 4), dec(r.Worst, 4), dec(r.Bound, 4), dec(r.Gap, 6), dec(r.Far, 4),
			dec(r.Confetti, 4), strconv.Itoa(r.Lone), strconv.Itoa(r.Runs),
			dec(n/float64(pace.Slow), 1), dec(n/float64(pace.Fast), 1), strconv.FormatBool(r.Stopped), strconv.Itoa(r.Asked), subject, strconv.Itoa(r.Few),
		})
	}
	out.Flush()
	return out.Error()
}
