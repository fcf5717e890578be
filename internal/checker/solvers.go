package checker

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// GLPK solves an integer program in the LP format with glpsol (Debian
// glpk-utils) to its end, and returns glpsol's report.
func GLPK(t testing.TB, lp string) (report string) {
	t.Helper()
	Need(t, "glpsol")
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.lp"), filepath.Join(dir, "out.txt")
	if err := os.WriteFile(in, []byte(lp), 0o666); err != nil {
		t.Fatal(err)
	}
	if said, err := exec.Command("glpsol", "--lp", in, "-o", out, "--mipgap", "0", "--tmlim", "1800").CombinedOutput(); err != nil {
		t.Fatalf("%s\n%s", err, said)
	}
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(text), "INTEGER OPTIMAL") {
		t.Fatalf("no optimum: %.500s", text)
	}
	return string(text)
}

// Number runs a script of a test with Python and returns the whole number that
// it prints.
func Number(t testing.TB, python, script string, in []byte) int64 {
	t.Helper()
	cmd := exec.Command(python, script)
	cmd.Stdin = bytes.NewReader(in)
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %s\n%s", script, err, said.String())
	}
	v, err := strconv.ParseInt(strings.TrimSpace(string(out)), 10, 64)
	if err != nil {
		t.Fatalf("%s: %s", script, err)
	}
	return v
}
