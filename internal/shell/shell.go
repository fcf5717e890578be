// Package shell writes commands as they can be typed. Begin with [Line].
package shell

import (
	"runtime"
	"strings"
)

// Line writes a command as it can be typed.
func Line(words ...string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = Word(w, runtime.GOOS == "windows")
	}
	return strings.Join(quoted, " ")
}

// Word writes one word of a command, in quotes where it needs them.
func Word(w string, windows bool) string {
	const open = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_@%+=:,./-"
	plain := open
	if windows {
		plain = strings.Replace(open, "%", `\`, 1)
	}
	switch {
	case w != "" && strings.Trim(w, plain) == "":
		return w
	case windows:
		return `"` + strings.ReplaceAll(w, `"`, `\"`) + `"`
	}
	return "'" + strings.ReplaceAll(w, "'", `'\''`) + "'"
}

// Argument returns a path that no flag can be mistaken for.
func Argument(path string) string {
	if strings.HasPrefix(path, "-") {
		return "./" + path
	}
	return path
}
