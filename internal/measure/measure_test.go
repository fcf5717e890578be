package measure

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/say"
)

func TestParseLength(t *testing.T) {
	for text, want := range map[string]Length{
		"2.5mm": 2500, "2.5 mm": 2500, " 30CM ": 300000, "12in": 304800, "0": 0, "0mm": 0, "0.0in": 0,
		".5cm": 5000, "5.cm": 50000, "8.5in": 215900, "0.0005mm": 1, "0.00049mm": 0, "2.54999999999999999mm": 2550,
		"2,5mm": 2500, "2,25 mm": 2250, "0,5cm": 5000, `16"`: 406400, "16″": 406400, "16”": 406400, "16 inch": 406400, "1 inches": 25400, "16''": 406400,
		"1000000mm": Longest, "0.333333333333333333in": 8467,
	} {
		got, err := ParseLength(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
}

func TestParseLengthRefuses(t *testing.T) {
	for _, text := range []string{
		"", "mm", ".mm", "NaN", "NaNmm", "Infcm", "-1mm", "+1mm", "1e3mm", "1_0mm", "2,5,5mm", "1,000mm", "1,5.5mm", ",mm", "2.5.5mm", "2.5", "7", "5ft", "1000000.001mm",
		"99999999999999999999999999mm", "0x10mm", "\u0663mm", "1mm2",
	} {
		_, err := ParseLength(text)
		var e *say.Error
		require.True(t, errors.As(err, &e), "%q gives %v", text, err)
		assert.True(t, e.Usage, text)
		assert.NotEmpty(t, e.Try, text)
	}
}

func TestLengthRoundTrip(t *testing.T) {
	for _, l := range []Length{0, 1, 10, 999, 1000, 2500, 2800, 25400, 304801, Longest} {
		var back Length
		require.NoError(t, back.Set(l.String()))
		assert.Equal(t, l, back)
	}
	assert.Equal(t, "0.001mm", Length(1).String())
	assert.Equal(t, "1.5", Length(15000).In(Centimeter))
	assert.Equal(t, "11.811", Length(300000).In(Inch))
	assert.Equal(t, "8.5", Length(215900).In(Inch))
}

func TestSize(t *testing.T) {
	for text, want := range map[string]Size{
		"": {}, "40x50cm": {400000, 500000}, "8.5x11in": {215900, 279400}, "40cmx500mm": {400000, 500000},
		"30 × 40 cm": {300000, 400000}, "30X40CM": {300000, 400000}, `16x20"`: {406400, 508000}, `16"x20"`: {406400, 508000}, "16x20inch": {406400, 508000}, "12 by 16 in": {304800, 406400}, "20,5x30,5cm": {205000, 305000}, "30*40cm": {300000, 400000},
	} {
		got, err := ParseSize(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
		var back Size
		require.NoError(t, back.Set(got.String()))
		assert.Equal(t, got, back)
		assert.Equal(t, got != Size{}, got.Given())
	}
	for _, text := range []string{"40cm", "x", "40x50", "40x", "xcm", "0x50cm", "40x0cm", "-1x5cm", "NaNxNaNcm", "40x50x60cm", "99999999999x1cm"} {
		_, err := ParseSize(text)
		assert.Error(t, err, text)
	}
	assert.Equal(t, Size{2, 1}, Size{1, 2}.Turned())
}

func TestAutoKeepsNotGivenApartFromZero(t *testing.T) {
	for text, want := range map[string]Auto{"": {}, "auto": {}, "0": {0, true}, "2.5mm": {2500, true}} {
		var got, back Auto
		require.NoError(t, got.Set(text))
		assert.Equal(t, want, got)
		require.NoError(t, back.Set(got.String()))
		assert.Equal(t, want, back)
	}
	assert.Error(t, new(Auto).Set("NaN"))
	assert.Equal(t, Length(7), Auto{}.Or(7))
	assert.Equal(t, Length(0), Auto{Given: true}.Or(7))
}

func FuzzLength(f *testing.F) {
	for _, s := range []string{"2.5mm", "12in", "0", "40x50cm", "auto", "1e9mm", "00012.50000cm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if l, err := ParseLength(s); err == nil {
			back, err := ParseLength(l.String())
			if err != nil || back != l || l < 0 || l > Longest {
				t.Fatalf("%q is %d, %s is %d, %v", s, l, l, back, err)
			}
		}
		if z, err := ParseSize(s); err == nil {
			if back, err := ParseSize(z.String()); err != nil || back != z {
				t.Fatalf("%q is %v, %s is %v, %v", s, z, z, back, err)
			}
		}
	})
}

// What is missing is proposed with what was typed.
func TestAMissingUnitIsProposed(t *testing.T) {
	for text, want := range map[string]string{"40x50": "say the unit: 40x50cm or 40x50in", "16x20 ": "say the unit: 16x20cm or 16x20in"} {
		_, err := ParseSize(text)
		var e *say.Error
		require.True(t, errors.As(err, &e), text)
		assert.Equal(t, want, e.Try)
	}
	_, err := ParseLength("2,5")
	var e *say.Error
	require.True(t, errors.As(err, &e))
	assert.Equal(t, "say the unit: 2,5mm or 2,5cm", e.Try)
}
