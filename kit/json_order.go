package kit

import (
	"fmt"
	"maps"
	"slices"

	"github.com/spf13/pflag"

	"kitwright/internal/wording"
)

// order says whether each setting of the order is one that an order can have,
// and whether what is told of owned drills can be.
// Settings that this release does not know are left alone.
func (f *file) order() error {
	o := DefaultOrder()
	fs := pflag.NewFlagSet("order", pflag.ContinueOnError)
	o.Bind(fs)
	for _, name := range slices.Sorted(maps.Keys(f.Order)) {
		if set := fs.Lookup(name); set != nil && set.Value.Set(wording.Printable(f.Order[name])) != nil {
			return fmt.Errorf("its order says %s is %q, which it cannot be", name, wording.Short(f.Order[name]))
		}
	}
	return f.Own.check()
}
