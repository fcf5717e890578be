package say

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestNumbersAsPeopleWriteThem(t *testing.T) {
	for n, want := range map[int]string{0: "0", 7: "7", 999: "999", 1000: "1,000", 32000: "32,000", 1234567: "1,234,567", -999: "-999", -1000: "-1,000"} {
		assert.Equal(t, want, Number(n))
	}
	assert.Equal(t, "1 drill", Count(1, "drill"))
	assert.Equal(t, "0 drills", Count(0, "drill"))
	assert.Equal(t, "2,400 drills", Count(2400, "drill"))
}
