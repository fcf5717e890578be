package stash

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"kitwright/internal/say"
)

// change adds one entry: decide says which lines, from what stands there while
// no other run can write. It returns when the entry is on the disk for good;
// where it returns an error, the entry does not stand, unless the error says
// that this is not sure.
func (l *Ledger) change(ctx context.Context, date string, decide func() ([]Line, error)) ([]Line, error) {
	if err := l.disk.mkdir(filepath.Dir(l.path)); err != nil {
		return nil, say.File("the folder of the stash cannot be made", filepath.Dir(l.path), err)
	}
	unlock, err := l.disk.lock(ctx, lockOf(l.path))
	if err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, busy(l.path, err)
	}
	defer unlock()
	if err := l.read(); err != nil {
		return nil, err
	}
	lines, err := decide()
	if err != nil || len(lines) == 0 {
		return nil, err
	}
	if err := l.heal(); err != nil {
		return nil, err
	}
	if err := l.settle(); err != nil {
		return nil, say.File("nothing was written into the stash", l.path, err)
	}
	if err := l.append(date, lines); err != nil {
		return nil, err
	}
	return lines, l.read()
}

// heal cuts off what a stop has left at the end of the file. The piece is kept
// beside it.
func (l *Ledger) heal() error {
	if !l.Torn() {
		return nil
	}
	aside := l.path + ".torn"
	piece := append(append([]byte{}, l.data[l.good:]...), '\n')
	if _, err := l.put(aside, piece); err != nil {
		return say.File("the torn end of the stash cannot be put aside", aside, err)
	}
	if err := l.disk.cut(l.path, int64(l.good)); err != nil {
		return say.File("the torn end of the stash cannot be mended", l.path, err)
	}
	l.data = l.data[:l.good]
	l.notes = append(l.notes, fmt.Sprintf("the last entry was stopped before it was written to its end; the torn piece was moved to %s", aside))
	return nil
}

// settle makes what stands there last, before anything is written behind it: a
// run that was stopped may have written more than it made last.
func (l *Ledger) settle() error {
	if len(l.data) == 0 {
		return nil
	}
	f, err := l.disk.open(l.path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// put appends to a file and makes it last, and says whether it touched it.
func (l *Ledger) put(path string, what []byte) (touched bool, err error) {
	f, err := l.disk.open(path)
	if err != nil {
		return false, err
	}
	_, err = f.Write(what)
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	return true, err
}

// append writes an entry behind what stands there.
func (l *Ledger) append(date string, lines []Line) error {
	entry := 1
	if n := len(l.recs); n > 0 {
		entry = l.recs[n-1].entry + 1
	}
	if last := l.lastDate(); date < last {
		l.notes = append(l.notes, fmt.Sprintf("today is %s by this machine's clock, and the entry before is of %s: entries count in the order they were written", date, last))
	}
	var out []byte
	if l.open {
		out = append(out, '\n')
	}
	if len(l.data) == 0 {
		out = append(out, header+"\n"...)
	}
	for i := range lines {
		x := &lines[i]
		x.Entry, x.Part, x.Parts, x.Date = entry, i+1, len(lines), date
		if why := x.wrong(); why != "" {
			return say.Failed("write it shorter or plainer", "the stash cannot hold the entry for %s: %s", x.Address(), why)
		}
		out = x.append(out)
	}
	was := len(l.data)
	switch touched, err := l.put(l.path, out); {
	case err != nil && !touched:
		return say.File("nothing was written into the stash", l.path, err)
	case err != nil:
		return l.takeBack(was, err)
	}
	// Each time: a run that was stopped may have made the file and no more.
	if err := l.disk.syncDir(filepath.Dir(l.path)); err != nil {
		return l.takeBack(was, err)
	}
	return nil
}

// takeBack leaves the file as it was before an entry that could not be written.
func (l *Ledger) takeBack(was int, err error) error {
	what := "nothing was written into the stash"
	if cut := l.disk.cut(l.path, int64(was)); cut != nil {
		what = "it is not sure whether the entry stands in the stash; kitwright stash list tells"
		err = errors.Join(err, cut)
	}
	return say.File(what, l.path, err)
}

// lastDate is the date of the last entry.
func (l *Ledger) lastDate() string {
	if n := len(l.recs); n > 0 {
		return l.parsed.read(l.recs[n-1]).Date
	}
	return ""
}
