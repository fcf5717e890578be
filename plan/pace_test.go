package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/measure"
)

func TestTimesParseBack(t *testing.T) {
	for text, want := range map[string]Time{
		"3h": 180, "45m": 45, "1h30m": 90, "1h30": 90, "2.5h": 150, "2,5 h": 150, "1:30": 90, "0": 0, "": 0, "90 min": 90, "1 hour 5 minutes": 65, "0.25h": 15, "3 hours": 180,
	} {
		var got Time
		require.NoError(t, got.Set(text), text)
		assert.Equal(t, want, got, text)
		var back Time
		require.NoError(t, back.Set(got.String()))
		assert.Equal(t, got, back)
	}
	for _, bad := range []string{"3", "h", "m", "-3h", "1h60m", "1.5h30m", "NaN", "1:3", "1:75", "1.2.3h", "99999h", "x h", "1h2h", ":30", "1e2h"} {
		got := Time(7)
		assert.Error(t, got.Set(bad), bad)
		assert.Equal(t, Time(7), got)
	}
	assert.Equal(t, "1 hour 30 minutes", Time(90).Words())
	assert.Equal(t, "3 hours", Time(180).Words())
	assert.Equal(t, "1 minute", Time(1).Words())
}

func TestHours(t *testing.T) {
	assert.Equal(t, "32 to 80", UsualPace.Hours(32000))
	assert.Equal(t, "1", UsualPace.Hours(400))
	assert.Equal(t, "92", Pace{350, 350}.Hours(32000))
	p := Of(picture(t, 2, 160, 200, 30), usual(2500))
	assert.Equal(t, "32 to 80", p.Setting().Hours())
	assert.Equal(t, "32 to 80 hours", p.Setting().Words())
	assert.Equal(t, "1 hour", UsualPace.Setting(400).Words())
	assert.Equal(t, "1 to 2 hours", UsualPace.Setting(401).Words())
	assert.Equal(t, Range{60, 150}, p.KitUp(), "2 to 5 minutes for each of 30 colors")
	assert.Equal(t, "1.6–4 h", UsualPace.Setting(1600).Short())
	assert.Equal(t, "32–80 h", UsualPace.Setting(32000).Short())
}

// What is proposed for a sitting can be set in it, and no size of that shape in
// half centimeters holds more.
func TestFits(t *testing.T) {
	for _, shape := range [][2]int{{160, 200}, {100, 100}, {400, 100}, {9, 16}} {
		for _, pitch := range []measure.Length{2500, 2800} {
			for _, sitting := range []Time{60, 180, 600, 3000} {
				o := usual(pitch)
				o.Sitting, o.Pace = sitting, Pace{350, 350}
				size, drills, ok := o.Fits(shape[0], shape[1])
				most := int(sitting) * 350 / 60
				best := 0
				for w := 5.0 * 6; w < 400*5; w += 5 {
					for h := 5.0 * 6; h < 400*5; h += 5 {
						n := int(w*1000) / int(pitch) * (int(h*1000) / int(pitch))
						off := w * float64(shape[1]) / (h * float64(shape[0]))
						if n <= most && off <= 1.12+1e-9 && 1/off <= 1.12+1e-9 {
							best = max(best, n)
						}
					}
				}
				require.Equal(t, best > 0, ok)
				assert.Equal(t, best, drills)
				if ok {
					assert.Equal(t, drills, int(size.W/pitch)*int(size.H/pitch))
				}
			}
		}
	}
	o := usual(2500)
	o.Sitting, o.Pace = 5, UsualPace
	_, _, ok := o.Fits(100, 100)
	assert.False(t, ok)
	o.Sitting, o.Pace = 180, Pace{350, 350}
	size, drills, ok := o.Fits(100, 100)
	require.True(t, ok)
	t.Log(size.String(), drills)
}
