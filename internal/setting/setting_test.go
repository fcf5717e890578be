package setting

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

type shape string

func TestChoice(t *testing.T) {
	at := shape("round")
	c := Of(&at, "square", "round", "oval")
	assert.Equal(t, "round", c.String())
	assert.Equal(t, "square|round|oval", c.Type())
	assert.NoError(t, c.Set(" Square "))
	assert.Equal(t, shape("square"), at)
	assert.EqualError(t, c.Set("star"), `it takes square, round or oval, not "star"`)
	assert.Equal(t, shape("square"), at, "what is refused changes nothing")
	assert.Empty(t, Choice[shape]{}.String())
}
