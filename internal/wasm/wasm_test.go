package wasm

import (
	"bytes"
	"compress/gzip"
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tiny is a module by hand (WebAssembly core specification 1.0, section 5):
// one page of memory, malloc(n) = 8 + n, free, trap, which is unreachable, and
// spin, which ends when it is asked to.
var tiny = []byte("\x00asm\x01\x00\x00\x00" +
	"\x01\x0e\x03\x60\x01\x7f\x01\x7f\x60\x01\x7f\x00\x60\x00\x01\x7f" + // types
	"\x02\x15\x01\x09kitwright\x07stopped\x00\x02" + // import
	"\x03\x05\x04\x00\x01\x02\x02" + // functions
	"\x05\x03\x01\x00\x01" + // memory
	"\x07\x28\x05\x06memory\x02\x00\x06malloc\x00\x01\x04free\x00\x02\x04trap\x00\x03\x04spin\x00\x04" + // exports
	"\x0a\x1d\x04\x07\x00\x20\x00\x41\x08\x6a\x0b\x02\x00\x0b\x03\x00\x00\x0b\x0c\x00\x03\x40\x10\x00\x45\x0d\x00\x0b\x41\x00\x0b") // code

func gz(t *testing.T, b []byte) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	w.Write(b)
	require.NoError(t, w.Close())
	return out.Bytes()
}

func TestInstance(t *testing.T) {
	in, err := New(gz(t, tiny), 1).Open(t.Context())
	require.NoError(t, err)
	defer in.Close()
	at, err := in.Put([]byte("hello"))
	require.NoError(t, err)
	assert.Equal(t, uint32(8+5), at)
	b, err := in.View(at, 5)
	require.NoError(t, err)
	assert.Equal(t, "hello", string(b))
	in.Free(at)

	_, err = in.View(at, 1<<17)
	assert.Error(t, err, "behind the memory")
	_, err = in.Put(make([]byte, 1<<17))
	assert.Error(t, err, "more than the memory")
	_, err = in.Alloc(-1)
	assert.Error(t, err)
	_, err = in.Call("missing")
	assert.Error(t, err)
	_, err = in.Call("trap")
	assert.Error(t, err, "a trap is an error, not a panic")
}

// A stopped program must not wait for a decoder.
func TestCallEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	in, err := New(gz(t, tiny), 1).Open(ctx)
	require.NoError(t, err)
	defer in.Close()
	_, err = in.Call("spin")
	assert.ErrorIs(t, err, context.DeadlineExceeded)
	_, err = in.Call("malloc", 1)
	assert.ErrorIs(t, err, context.DeadlineExceeded, "and so do all later ones")
}

func TestBrokenModules(t *testing.T) {
	for _, data := range [][]byte{nil, []byte("not gzip"), gz(t, []byte("not wasm")), gz(t, tiny[:20])} {
		_, err := New(data, 1).Open(t.Context())
		assert.Error(t, err)
	}
}
