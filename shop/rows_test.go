package shop_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/palettes"
	"kitwright/shop"
)

// What an order costs whose photo is not there: all that comes before it.
func BenchmarkRows(b *testing.B) {
	var table strings.Builder
	table.WriteString("photo,name,size\n")
	const n = 2000
	for i := range n {
		fmt.Fprintf(&table, "gone%d.png,order %d,20x20cm\n", i, i)
	}
	s, orders := place(b, table.String())
	card, err := palettes.Named("munsell")
	require.NoError(b, err)
	s.Card = func(string) (*palettes.Card, error) { return card, nil } // as the command does
	for b.Loop() {
		t, err := s.Batch(context.Background(), orders, "sum", shop.Part{}, func(shop.Result) {})
		require.NoError(b, err)
		require.Equal(b, n, t.Failed)
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*n), "µs/row")
}
