// Package checker finds the outside programs and data that tests are checked
// against. A test that misses one skips and says so, unless
// KITWRIGHT_CHECKERS=all is set, as it is where all of them were installed:
// there it fails.
package checker

import (
	"os"
	"os/exec"
	"testing"
)

// Need returns when every program is on the path.
func Need(t testing.TB, programs ...string) {
	t.Helper()
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			Missing(t, "the program "+p)
		}
	}
}

// Slow skips a test that takes many times as long under the race detector and
// shares memory in no way that a quicker test does not.
func Slow(t testing.TB) {
	t.Helper()
	if racing {
		t.Skip("skipped: too slow under the race detector; quicker tests go the same road")
	}
}

// Missing skips the test, or fails it where nothing may be missing.
func Missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("KITWRIGHT_CHECKERS") == "all" {
		t.Fatalf("%s is missing, and KITWRIGHT_CHECKERS=all wants every check to run", what)
	}
	t.Skipf("skipped: %s was not named or is not on this machine", what)
}

// Folder returns the folder that an environment variable names: data that may
// not be carried along is read by path. Where nothing is named it is missing, as
// a program can be; "none" says that it cannot be had here, and skips the test
// in any case. Where what is named is no folder, the test fails.
func Folder(t testing.TB, variable string) string {
	t.Helper()
	dir := os.Getenv(variable)
	switch dir {
	case "none":
		t.Skipf("skipped: %s is said to be not to be had here", variable)
	case "":
		Missing(t, "the folder "+variable)
	}
	if info, err := os.Stat(dir); err != nil || !info.IsDir() {
		t.Fatalf("%s: %q is no folder", variable, dir)
	}
	return dir
}
