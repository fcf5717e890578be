//go:build !unix

package wasm

import "os"

// ours says whether there is a folder. Systems like Windows keep it from others
// by rights that a folder inherits.
func ours(dir string) bool {
	info, err := os.Stat(dir)
	return err == nil && info.IsDir()
}
