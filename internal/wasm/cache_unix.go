//go:build unix

package wasm

import (
	"os"
	"syscall"
)

// ours says whether nobody else can have put something into a folder: what lies
// there is run. So root takes nothing from the folder of another.
func ours(dir string) bool {
	info, err := os.Stat(dir)
	if err != nil || !info.IsDir() {
		return false
	}
	s, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(s.Uid) == os.Geteuid() && info.Mode().Perm()&0o022 == 0
}
