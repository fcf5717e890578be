package setting

import "github.com/spf13/pflag"

// Binder makes settings the flags of a set, under headings. It is how every
// struct of settings names and explains its own.
type Binder struct {
	fs    *pflag.FlagSet
	group string
}

// Bind returns a Binder for a set.
func Bind(fs *pflag.FlagSet) *Binder { return &Binder{fs: fs} }

// groupKey is the annotation under which a flag carries its heading.
const groupKey = "group"

// Group begins a heading.
func (b *Binder) Group(name string) { b.group = name }

// Add makes a setting a flag, with its present value as the default.
func (b *Binder) Add(v pflag.Value, name, usage string) {
	b.fs.Var(v, name, usage)
	b.mark(name)
}

// Bool makes a setting that is on or off a flag.
func (b *Binder) Bool(p *bool, name, usage string) {
	b.fs.BoolVar(p, name, *p, usage)
	b.mark(name)
}

func (b *Binder) mark(name string) {
	// The flag exists: it was added just now.
	_ = b.fs.SetAnnotation(name, groupKey, []string{b.group})
}

// GroupOf returns the heading that a flag stands under; "" if it is no
// setting.
func GroupOf(f *pflag.Flag) string {
	if g := f.Annotations[groupKey]; len(g) > 0 {
		return g[0]
	}
	return ""
}
