package say

import (
	"errors"
	"os"
	"strings"
)

// File returns an error about a file, with what the system said in plain
// words.
func File(what, path string, err error) error {
	var pe *os.PathError
	var le *os.LinkError
	reason := err
	if errors.As(err, &pe) {
		reason = pe.Err
	} else if errors.As(err, &le) {
		reason = le.Err
	}
	try := "look at the place and its permissions"
	switch {
	case errors.Is(err, os.ErrNotExist):
		try = "check how the name is spelled, and which folder it is in"
	case strings.Contains(reason.Error(), "no space left"):
		try = "free some room on the disk"
	}
	return Failed(try, "%s: %s: %w", what, path, reason)
}
