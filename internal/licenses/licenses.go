// Package licenses holds the license of everything that the one binary
// carries, in full. Begin with [Write].
package licenses

import (
	"bufio"
	"embed"
	"fmt"
	"io"
	"strings"

	"kitwright/chart/symbols"
	"kitwright/internal/heif"
)

//go:embed texts
var texts embed.FS

// Part is something the binary carries.
type Part struct {
	Name    string
	License string // as SPDX names it, or in words
	Text    string // in full
}

// Parts returns all of them: kitwright first, then Go's library, the modules,
// and what is data.
func Parts() []Part {
	own := func(names ...string) string { return join(texts, "texts/", names...) }
	module := func(path, license string) Part {
		return Part{path, license, own(strings.ReplaceAll(path, "/", "_"))}
	}
	return []Part{
		{"kitwright", "Apache-2.0", own("kitwright")},
		{"the Go library", "BSD-3-Clause", own("go")},
		module("github.com/BurntSushi/toml", "MIT"),
		module("github.com/disintegration/imaging", "MIT"),
		module("github.com/jung-kurt/gofpdf", "MIT"),
		module("github.com/lucasb-eyer/go-colorful", "MIT"),
		module("github.com/piglig/go-qr", "MIT"),
		module("github.com/spf13/pflag", "BSD-3-Clause"),
		module("github.com/richardlehane/mscfb", "Apache-2.0"),
		module("github.com/richardlehane/msoleps", "Apache-2.0"),
		{"github.com/tetratelabs/wazero", "Apache-2.0", own("github.com_tetratelabs_wazero.NOTICE", "github.com_tetratelabs_wazero")},
		module("github.com/tiendc/go-deepcopy", "MIT"),
		module("github.com/xuri/efp", "BSD-3-Clause"),
		module("github.com/xuri/excelize/v2", "BSD-3-Clause"),
		module("github.com/xuri/nfp", "BSD-3-Clause"),
		module("golang.org/x/crypto", "BSD-3-Clause"),
		module("golang.org/x/image", "BSD-3-Clause"),
		module("golang.org/x/net", "BSD-3-Clause"),
		module("golang.org/x/sync", "BSD-3-Clause"),
		module("golang.org/x/sys", "BSD-3-Clause"),
		module("golang.org/x/text", "BSD-3-Clause"),
		{"the Go fonts", "BSD-3-Clause", own("go-fonts")},
		{"letters and digits among the symbols, after Noto Sans Bold", "OFL-1.1", symbols.License},
		{"libde265 (HEIC), as WebAssembly", "LGPL-3.0-or-later", join(heif.Licenses, "licenses/", "libde265")},
		{"dav1d (AVIF), as WebAssembly", "BSD-2-Clause", join(heif.Licenses, "licenses/", "dav1d")},
		{"wasi-libc, in both of these", "MIT and others", join(heif.Licenses, "licenses/", "wasi-libc")},
		{"LLVM's C++ library and compiler-rt, in these", "Apache-2.0 WITH LLVM-exception", join(heif.Licenses, "licenses/", "llvm")},
	}
}

// join returns files of a folder, one after the other.
func join(from embed.FS, folder string, names ...string) string {
	var all []string
	for _, n := range names {
		b, err := from.ReadFile(folder + n)
		if err != nil {
			panic(err) // they are embedded: TestEveryModuleHasItsText
		}
		all = append(all, strings.TrimSpace(string(b)))
	}
	return strings.Join(all, "\n\n")
}

// Write writes them all, with a list in front.
func Write(w io.Writer) error {
	out := bufio.NewWriter(w)
	fmt.Fprint(out, "kitwright carries:\n\n")
	parts := Parts()
	for _, p := range parts {
		fmt.Fprintf(out, "  %s: %s\n", p.Name, p.License)
	}
	fmt.Fprint(out, "\nThe demo photo is in the public domain (CC0 1.0); the built-in cards are published facts.\n")
	for _, p := range parts {
		fmt.Fprintf(out, "\n%s\n%s: %s\n\n%s\n", strings.Repeat("=", 72), p.Name, p.License, p.Text)
	}
	return out.Flush()
}
