// Package home finds the folder in which a person's programs keep what is
// theirs to keep: cards, leftovers. Begin with [Dir].
package home

import "path/filepath"

// Dir returns our folder for user data, "" if the system names none: on Linux
// and the BSDs $XDG_DATA_HOME or ~/.local/share (XDG Base Directory
// Specification 0.8), on macOS ~/Library/Application Support, on Windows
// %LOCALAPPDATA%. System is runtime.GOOS; get looks up the environment.
func Dir(system string, get func(string) string) string {
	const name = "kitwright"
	var base string
	switch system {
	case "windows":
		if base = get("LOCALAPPDATA"); base == "" && get("USERPROFILE") != "" {
			base = get("USERPROFILE") + `\AppData\Local`
		}
		if base == "" {
			return ""
		}
		return base + `\` + name
	case "darwin", "ios":
		if get("HOME") == "" {
			return ""
		}
		return filepath.Join(get("HOME"), "Library", "Application Support", name)
	}
	if base = get("XDG_DATA_HOME"); filepath.IsAbs(base) { // a relative one is to be ignored, says the specification
		return filepath.Join(base, name)
	}
	if get("HOME") == "" {
		return ""
	}
	return filepath.Join(get("HOME"), ".local", "share", name)
}
