package folder

import (
	"bytes"
	"os"
	"path/filepath"

	"kitwright/internal/say"
	"kitwright/plan"
)

// mayReplace says whether what stands at a place may be put aside, and what
// was put aside earlier may give way to it.
func mayReplace(p place, kind Kind, spare bool) error {
	if err := kind.holds(p.dest); err != nil {
		return err
	}
	if exists(p.before()) {
		if err := kind.holds(p.before()); err != nil {
			return err
		}
		if !spare { // then it stays
			return ticksStay(p)
		}
	}
	return nil
}

// ticksStay refuses to let an earlier kit give way that alone holds what was
// ticked off.
func ticksStay(p place) error {
	log := filepath.Join(p.before(), plan.LogFile)
	was, err := os.ReadFile(log)
	if os.IsNotExist(err) {
		return nil
	} else if err != nil {
		return say.File("what was ticked off cannot be looked at", log, err)
	}
	is, err := os.ReadFile(filepath.Join(p.dest, plan.LogFile))
	if err != nil && !os.IsNotExist(err) {
		return say.File("what was ticked off cannot be looked at", filepath.Join(p.dest, plan.LogFile), err)
	}
	if !bytes.HasPrefix(is, was) {
		return say.Failed("move it to another place first", "%s holds what was ticked off of another kit, and would give way", p.before())
	}
	return nil
}
