package folder

import (
	"bytes"
	"io"
	"os"
	"path/filepath"

	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/plan"
)

// Progress reads what is ticked off in a kit folder and says how far its plan
// has come.
func Progress(dir string, p *plan.Plan) (*plan.Progress, error) {
	path := filepath.Join(dir, plan.LogFile)
	if _, err := os.Stat(path); os.IsNotExist(err) {
		return (&plan.Log{}).On(p), nil
	}
	f, err := input.Open(path, "log")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	l, err := plan.ReadLog(f)
	if err != nil {
		return nil, err
	}
	return l.On(p), nil
}

// Tick adds a tick to the log of a kit folder and returns how far its plan has
// come with it. What is ticked is decided when no other run can tick or replace
// the folder.
func Tick(dir string, p *plan.Plan, decide func(*plan.Progress) (plan.Tick, error)) (*plan.Progress, error) {
	var after *plan.Progress
	err := Append(dir, Kits, plan.LogFile, func(present []byte) ([]byte, error) {
		l, err := plan.ReadLog(bytes.NewReader(present))
		if err != nil {
			return nil, err
		}
		t, err := decide(l.On(p))
		if err != nil {
			return nil, err
		}
		lines := l.Lines(t)
		if len(present)+len(lines) > plan.MostLog {
			return nil, say.Failed("move "+plan.LogFile+" away to begin anew", "what was ticked off fills %s", plan.LogFile)
		}
		if l, err = plan.ReadLog(io.MultiReader(bytes.NewReader(present), bytes.NewReader(lines))); err != nil {
			return nil, err
		}
		after = l.On(p)
		return lines, nil
	})
	if err != nil {
		return nil, err
	}
	return after, nil
}

// earlierProgress returns the log of the kit that is to be replaced, where the
// new one is of the same picture on the same grid: then what is set still lies
// where the new chart has its drills. Otherwise it stays with the old kit, and
// dropped says so.
func earlierProgress(dest string, k *kit.Kit) (log []byte, dropped bool, err error) {
	path := filepath.Join(dest, plan.LogFile)
	if _, err := os.Stat(path); err != nil {
		return nil, false, nil // nothing was ticked off
	}
	old, err := Read(dest)
	if err != nil || old.Photo.SHA256 != k.Photo.SHA256 || old.Chart.Cols != k.Chart.Cols || old.Chart.Rows != k.Chart.Rows {
		return nil, true, nil
	}
	if log, err = os.ReadFile(path); err != nil {
		return nil, false, say.File("what was ticked off cannot be read", path, err)
	}
	return log, false, nil
}
