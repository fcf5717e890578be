// Package wasm runs a decoder that was compiled to WebAssembly, inside this
// process and in pure Go. Begin with [New], then [Module.Open].
//
// A module is sealed off: it gets no files, no clock, no network, and its
// words to the outside are dropped. It can do no worse than answer wrongly or
// stop.
package wasm

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"sync"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

// Module is a decoder. It is compiled on first use, once a process, and kept
// compiled for later ones.
type Module struct {
	gz        []byte
	megabytes uint32

	once sync.Once
	rt   wazero.Runtime
	code wazero.CompiledModule
	err  error
}

// New returns the module in a gzipped .wasm file, whose memory may grow to so
// many megabytes.
func New(gz []byte, megabytes uint32) *Module { return &Module{gz: gz, megabytes: megabytes} }

func (m *Module) compile() {
	z, err := gzip.NewReader(bytes.NewReader(m.gz))
	if err != nil {
		m.err = err
		return
	}
	code, err := io.ReadAll(z)
	if err != nil {
		m.err = err
		return
	}
	if cache, seal := openCache(m.gz); cache != nil {
		if m.rt, m.code, m.err = compiled(code, m.megabytes, cache); m.err == nil {
			seal()
			return
		}
	}
	m.rt, m.code, m.err = compiled(code, m.megabytes, nil)
}

func compiled(code []byte, megabytes uint32, cache wazero.CompilationCache) (wazero.Runtime, wazero.CompiledModule, error) {
	ctx := experimental.WithCompilationWorkers(context.Background(), runtime.GOMAXPROCS(0))
	config := wazero.NewRuntimeConfig().WithMemoryLimitPages(megabytes * 16)
	if cache != nil {
		config = config.WithCompilationCache(cache)
	}
	rt := wazero.NewRuntimeWithConfig(ctx, config)
	if _, err := wasi_snapshot_preview1.Instantiate(ctx, rt); err != nil {
		return nil, nil, err
	}
	// Checks that the runtime itself can compile in make decoders five times
	// slower, so they ask here, once a block of pixels.
	stopped := func(ctx context.Context) uint32 {
		if ctx.Err() != nil {
			return 1
		}
		return 0
	}
	if _, err := rt.NewHostModuleBuilder("kitwright").NewFunctionBuilder().WithFunc(stopped).Export("stopped").Instantiate(ctx); err != nil {
		return nil, nil, err
	}
	c, err := rt.CompileModule(ctx, code)
	return rt, c, err
}

// Instance is a module at work, with memory of its own. It is for one
// goroutine at a time.
type Instance struct {
	ctx       context.Context
	mod       api.Module
	functions map[string]api.Function
}

// Open starts an instance; close it after use. A module may import the function
// "stopped" of "kitwright", which answers 1 when ctx has ended: so a call under
// way ends early, with the error of ctx.
func (m *Module) Open(ctx context.Context) (*Instance, error) {
	m.once.Do(m.compile)
	if m.err != nil {
		return nil, m.err
	}
	config := wazero.NewModuleConfig().WithName("").WithStdout(io.Discard).WithStderr(io.Discard).WithStartFunctions("_initialize")
	mod, err := m.rt.InstantiateModule(context.Background(), m.code, config)
	if err != nil {
		return nil, err
	}
	return &Instance{ctx, mod, map[string]api.Function{}}, nil
}

// Close gives the memory back.
func (i *Instance) Close() { i.mod.Close(context.Background()) }

// Call calls an exported function that returns one number. After an error the
// instance is of no more use.
func (i *Instance) Call(name string, args ...uint64) (uint64, error) {
	f := i.functions[name]
	if f == nil {
		if f = i.mod.ExportedFunction(name); f == nil {
			return 0, fmt.Errorf("wasm: no function %s", name)
		}
		i.functions[name] = f
	}
	out, err := f.Call(i.ctx, args...)
	if i.ctx.Err() != nil { // the runtime says so by an exit code of its own
		return 0, i.ctx.Err()
	}
	if err != nil || len(out) == 0 {
		return 0, err
	}
	return out[0], nil
}

var errMemory = errors.New("wasm: out of memory")

// Alloc returns the address of n bytes.
func (i *Instance) Alloc(n int) (uint32, error) {
	if n < 0 || int64(n) > 1<<31 {
		return 0, errMemory
	}
	p, err := i.Call("malloc", uint64(n))
	if err == nil && uint32(p) == 0 {
		err = errMemory
	}
	return uint32(p), err
}

// Free gives bytes from Alloc back.
func (i *Instance) Free(at uint32) { i.Call("free", uint64(at)) }

// Put copies data into new memory of the module.
func (i *Instance) Put(data []byte) (uint32, error) {
	p, err := i.Alloc(len(data))
	if err == nil && !i.mod.Memory().Write(p, data) {
		err = errMemory
	}
	return p, err
}

// View returns n bytes of the module's memory without copying: they are good
// until the next call into it.
func (i *Instance) View(at uint32, n int) ([]byte, error) {
	if n < 0 || int64(n) > 1<<32-1 {
		return nil, errMemory
	}
	b, ok := i.mod.Memory().Read(at, uint32(n))
	if !ok {
		return nil, errMemory
	}
	return b, nil
}
