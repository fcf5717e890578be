package photo

import (
	"bytes"
	_ "embed"
)

//go:embed demo/cat.png
var demo []byte

// DemoName is the file name that the demo photo goes by.
const DemoName = "cat.png"

// Demo returns the bytes of the demo photo, a ginger cat (PNG, 451 x 300).
// demo/README.md names its photographer and license.
func Demo() []byte { return bytes.Clone(demo) }
