package symbols

import _ "embed"

// License is the license of the letters and digits among the symbols, which
// were traced from Noto Sans Bold.
//
//go:embed OFL.txt
var License string
