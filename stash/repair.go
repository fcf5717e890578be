package stash

import (
	"context"
	"fmt"

	"kitwright/internal/say"
)

// Verdict is what somebody decided about a broken place.
type Verdict struct {
	Fault Fault
	Keep  bool // it counts as it reads now; otherwise it says nothing
}

// Repair records what was decided. The broken lines stay where they are.
func (l *Ledger) Repair(ctx context.Context, date string, verdicts ...Verdict) ([]Line, error) {
	return l.change(ctx, date, func() (lines []Line, err error) {
		open := map[string]bool{}
		for _, f := range l.faults {
			open[f.ref] = true
		}
		gain := map[Key]int{}
		for _, v := range verdicts {
			if !open[v.Fault.ref] { // another run was quicker
				continue
			}
			delete(open, v.Fault.ref)
			x := Line{Act: Repaired, Counted: -1, Ref: v.Fault.ref}
			if v.Keep {
				if v.Fault.Says == nil {
					return nil, say.Usage("leave it out, and say what is there with stash count", "line %d cannot be read, so it cannot count", v.Fault.Line)
				}
				said, ref := v.Fault.Says.said()
				x.Key, x.Drills, x.Place, x.Note = v.Fault.Says.Key, v.Fault.Says.Drills, v.Fault.Says.Place, v.Fault.Says.Note
				x.Kit, x.Chart = v.Fault.Says.Kit, v.Fault.Says.Chart
				x.Ref += asWord + string(said)
				if ref != "" {
					x.Ref += " " + ref
				}
				gain[x.Key] += x.Drills
			}
			lines = append(lines, x)
		}
		for _, k := range sortedKeys(gain) {
			if n := l.Lot(k).Drills + gain[k]; n < 0 && gain[k] < 0 {
				return nil, say.Failed("leave the line out, or say first what is there with stash count", "of %s there would be %s", k.Address(), fmt.Sprint(n))
			}
		}
		return lines, nil
	})
}
