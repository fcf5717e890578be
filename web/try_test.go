package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"runtime/debug"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/photo"
)

// triers are what this test's own program does in place of reading a photo.
var triers = map[string]func(){
	TryWord: func() { _ = TryPhoto(context.Background(), os.Stdin, os.Stdout) },
	"try-crash": func() {
		debug.SetMaxStack(1 << 16)
		var deep func(n int) int
		deep = func(n int) int { return deep(n+1) + n }
		fmt.Println(deep(0)) // the runtime ends the process: nothing recovers from that
	},
	"try-hang":  func() { time.Sleep(time.Hour) },
	"try-babel": func() { fmt.Println("{") },
}

// A decoder that crashes beyond recovery, hangs or talks nonsense ends one
// request: the table says so, keeps nothing of it, and goes on. What it only
// cannot read is told in the same words as without a process of its own.
func TestADecoderThatFailsEndsOneRequest(t *testing.T) {
	dir := t.TempDir()
	with := func(word string, reading time.Duration) *opened {
		return openTable(t, Config{Library: dir, Try: []string{os.Args[0], word}, Reading: reading})
	}
	for word, want := range map[string]string{"try-crash": "failed on this one", "try-hang": "too long", "try-babel": "failed on this one"} {
		reading := time.Duration(0)
		if word == "try-hang" {
			reading = 300 * time.Millisecond
		}
		o := with(word, reading)
		for _, path := range []string{"/api/kits?name=cat.png", "/api/gauge?name=card.png"} {
			code, body := o.ask("POST", path, photo.Demo())
			assert.Equal(t, http.StatusUnprocessableEntity, code, word)
			assert.Contains(t, string(body), want, word)
		}
		left, err := os.ReadDir(o.lib.path(comingDir))
		require.NoError(t, err)
		assert.Empty(t, left, word)
		assert.Empty(t, o.lib.list())
	}

	o := with("try-hang", 0)
	ctx, leave := context.WithCancel(context.Background())
	r, err := http.NewRequestWithContext(ctx, "POST", o.url+"/api/kits?name=cat.png", bytes.NewReader(photo.Demo()))
	require.NoError(t, err)
	r.AddCookie(&http.Cookie{Name: "kw" + o.guard.port, Value: o.guard.cookie})
	r.Header.Set(tokenHeader, o.token)
	go func() { time.Sleep(100 * time.Millisecond); leave() }()
	_, err = o.http.Do(r)
	require.Error(t, err)
	require.Eventually(t, func() bool { return len(o.uploads) == 0 }, patience, 5*time.Millisecond, "its process ends with who asked")

	broken := photo.Demo()[:5000]
	trying := with(TryWord, 0)
	code, tried := trying.ask("POST", "/api/kits?name=cat.png", broken)
	require.GreaterOrEqual(t, code, 400)
	_, plain := openTable(t, Config{}).ask("POST", "/api/kits?name=cat.png", broken)
	var a, b struct{ Error fault }
	require.NoError(t, json.Unmarshal(tried, &a))
	require.NoError(t, json.Unmarshal(plain, &b))
	assert.Equal(t, b, a)
	trying.want("POST", "/api/kits?name=cat.png", photo.Demo(), nil)
	none := openTable(t, Config{Library: dir, Try: []string{"/no/such/program"}})
	none.want("POST", "/api/kits?name=cat.png", photo.Demo(), nil) // then without
	assert.Len(t, none.lib.list(), 2)
}
