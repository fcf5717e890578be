// Package house holds the checks of how the code is laid out: who imports
// whom, as DEVELOPERS.md draws it, and how long files and functions may grow.
// It holds nothing that the program uses.
package house
