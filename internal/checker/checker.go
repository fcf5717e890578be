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

// Missing skips the test, or fails it where nothing may be missing.
func Missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("KITWRIGHT_CHECKERS") == "all" {
		t.Fatalf("%s is missing, and KITWRIGHT_CHECKERS=all wants every check to run", what)
	}
	t.Skipf("skipped: %s is not on this machine", what)
}

// Folder returns the folder that an environment variable names, or skips the
// test: data that may not be carried along is read by path.
func Folder(t testing.TB, variable string) string {
	t.Helper()
	dir := os.Getenv(variable)
	if dir == "" {
		t.Skipf("skipped: %s does not name a folder", variable)
	}
	if _, err := os.Stat(dir); err != nil {
		t.Fatalf("%s: %v", variable, err)
	}
	return dir
}
