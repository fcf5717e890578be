package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"os"
	"os/exec"
	"time"

	"kitwright/internal/say"
	"kitwright/photo"
)

// A photo from outside is read by a process of its own first: a decoder that
// crashes or hangs ends that process, and the table goes on. What it could
// read, the table can: decoders do the same with the same bytes.

// TryWord is the argument with which the program tries a photo: it reads one
// from its input, and says on its output what is wrong with it.
const TryWord = "try-photo"

// tried is what the process tells.
type tried struct{ What, Try string }

// TryPhoto reads a photo and tells what is wrong with it, if anything.
func TryPhoto(ctx context.Context, in io.Reader, out io.Writer) error {
	var told tried
	_, err := photo.Read(ctx, in, photo.Limits{})
	var said *say.Error
	if errors.As(err, &said) {
		told.What, told.Try = said.Words(settingWord)
	} else if err != nil {
		told.What = err.Error()
	}
	return json.NewEncoder(out).Encode(told)
}

// try has a photo's file read by a process of its own.
func (t *Table) try(ctx context.Context, f *os.File, name string) error {
	if len(t.cfg.Try) == 0 {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, t.readingTime)
	defer cancel()
	c := exec.CommandContext(ctx, t.cfg.Try[0], t.cfg.Try[1:]...)
	var out bytes.Buffer
	c.Stdin, c.Stdout = f, &out
	c.WaitDelay = time.Second
	err := c.Run()
	var told tried
	switch {
	case ctx.Err() != nil && !errors.Is(ctx.Err(), context.DeadlineExceeded):
		return ctx.Err() // nobody waits for it any more
	case ctx.Err() != nil:
		return faulty(http.StatusUnprocessableEntity, "", "hangs")
	case err != nil && c.ProcessState == nil: // it could not be started: without it, then
		break
	case err != nil || json.Unmarshal(out.Bytes(), &told) != nil:
		return faulty(http.StatusUnprocessableEntity, "", "crashes")
	case told.What != "":
		return named(say.Failed(told.Try, "%s", told.What), name)
	}
	_, err = f.Seek(0, io.SeekStart)
	return err
}
