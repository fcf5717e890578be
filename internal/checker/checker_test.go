package checker

import (
	"fmt"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
)

// listener is a test that only tells how it ended.
type listener struct {
	testing.TB
	ended string
}

func (*listener) Helper() {}

func (l *listener) Skipf(format string, args ...any) {
	l.ended = "skipped"
	runtime.Goexit()
}

func (l *listener) Fatalf(format string, args ...any) {
	l.ended = "failed"
	runtime.Goexit()
}

func TestWhatIsMissing(t *testing.T) {
	const none = "no-such-program-anywhere"
	here := t.TempDir()
	for _, c := range []struct{ checkers, folder, program, folders string }{
		{"", "", "skipped", "skipped"},
		{"all", "", "failed", "failed"},
		{"all", "none", "failed", "skipped"},
		{"", filepath.Join(here, "missing"), "skipped", "failed"},
		{"all", here, "failed", here},
	} {
		t.Setenv("KITWRIGHT_CHECKERS", c.checkers)
		t.Setenv("KITWRIGHT_THIS_TEST", c.folder)
		assert.Equal(t, c.program, how(func(l *listener) { Need(l, none) }), fmt.Sprint(c))
		assert.Equal(t, c.folders, how(func(l *listener) { l.ended = Folder(l, "KITWRIGHT_THIS_TEST") }), fmt.Sprint(c))
	}
}

func how(f func(*listener)) string {
	l := &listener{}
	done := make(chan struct{})
	go func() {
		defer close(done)
		f(l)
	}()
	<-done
	return l.ended
}
