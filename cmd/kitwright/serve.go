package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"time"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/web"
)

// firstPort is tried first, so that bookmarks and open pages stay right when
// the table is opened again.
const firstPort = 7727

func serveCommand() command {
	return command{
		name: "serve", summary: "open the worktable: the whole job on a page in your browser",
		about: `Opens a page on this machine on which a photo becomes a printed kit by hand and eye. It is the
			same road as the other commands and makes the same folders. Nothing leaves the machine: the
			page can be reached from this machine only, with the key in the address. kitwright without a
			command does the same. Ctrl-C closes it.`,
		example: "kitwright serve\nkitwright serve --library ~/kits --no-open",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var s serving
			s.places.bind(fs)
			fs.StringVar(&s.library, "library", "", "the folder of your kits; kits in kitwright's own folder unless given")
			fs.IntVar(&s.port, "port", 0, "the port of the page; "+strconv.Itoa(firstPort)+" or the next free one unless given")
			fs.BoolVar(&s.noOpen, "no-open", false, "only print the address, and open no browser")
			fs.BoolVar(&s.share, "share", false, "let the page share the placing of one kit with a tablet on your network; not encrypted, and off unless you press it there")
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 0, "serve takes no arguments", "kitwright serve"); err != nil {
					return err
				}
				return s.run(ctx, e)
			}
		},
	}
}

type serving struct {
	places  cardPlaces
	library string
	port    int
	noOpen  bool
	share   bool
}

func (s *serving) run(ctx context.Context, e env) error {
	home := s.places.shelf().Dir
	if s.library == "" {
		if home == "" {
			return say.Failed("name a folder with {library}", "this system names no place for your kits")
		}
		s.library = filepath.Join(home, "kits")
	}
	library, err := filepath.Abs(s.library)
	if err != nil {
		return say.File("the folder of your kits cannot be found", s.library, err)
	}
	if home != "" {
		if open := web.Find(ctx, home); open != nil && open.Library == library {
			fmt.Fprintf(e.stdout, "The worktable is open already:\n  %s\n", open.Address())
			s.show(e, open.Address())
			return nil
		}
	}
	settings, err := readSettings(settingsPath(s.places.home))
	if err != nil {
		return err
	}
	at, err := listen(s.port)
	if err != nil {
		return err
	}
	key := web.NewKey()
	var try []string
	if self, err := os.Executable(); err == nil {
		try = []string{self, web.TryWord}
	}
	table, err := web.New(web.Config{Library: library, Home: home, Defaults: settings, Locale: locale(), Version: version, Share: s.share, Try: try}, at.Addr(), key)
	if err != nil {
		_ = at.Close()
		return err
	}
	here := web.Instance{Addr: at.Addr().String(), Key: key, Library: library, Version: version}
	if home != "" {
		told, err := web.Announce(home, here)
		if err != nil {
			_ = at.Close()
			return err
		}
		if told != nil {
			defer told.Leave()
		}
	}
	fmt.Fprintf(e.stdout, "The worktable is open. If no browser shows it, open this address:\n  %s\nIt can be reached from this machine only, and nothing leaves it. Your kits are in %s. Ctrl-C closes it.\n", here.Address(), library)
	s.show(e, here.Address())
	return serveTable(ctx, at, table)
}

// serveTable answers until the run is ended, then lets what is under way be
// saved.
func serveTable(ctx context.Context, at net.Listener, table *web.Table) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	closed := make(chan struct{})
	onEnd(ctx, func() string {
		cancel()
		select {
		case <-closed:
		case <-time.After(5 * time.Second):
		}
		if n := table.Unsaved(); n > 0 {
			return fmt.Sprintf("the worktable is closed, and the last edits of %s could not be saved", say.Count(n, "kit"))
		}
		return "the worktable is closed, and all is saved"
	})
	server := &http.Server{Handler: table, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 1 << 16, BaseContext: func(net.Listener) context.Context { return ctx }}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(at) }()
	defer close(closed)
	select {
	case err := <-failed:
		_ = table.Close()
		return say.Failed("close other programs, or name another port with {port}", "the page cannot be served: %w", err)
	case <-ctx.Done():
	}
	err := table.Close() // the streams first: Shutdown waits for them
	wait, done := context.WithTimeout(context.Background(), 2*time.Second)
	defer done()
	if serr := server.Shutdown(wait); serr != nil && !errors.Is(serr, context.DeadlineExceeded) && err == nil {
		err = serr
	}
	_ = server.Close()
	return err
}

// listen opens a port of the loopback: the one asked for, or the first that is
// free.
func listen(port int) (net.Listener, error) {
	if port < 0 || port > 65535 {
		return nil, say.Usage("a port is a number of 1 to 65535", "{port} %d cannot be", port)
	}
	try := func(p int) (net.Listener, error) { return net.Listen("tcp4", "127.0.0.1:"+strconv.Itoa(p)) }
	if port != 0 {
		at, err := try(port)
		if err != nil {
			return nil, say.Failed("leave {port} out: the next free one is taken", "port %d cannot be opened: %w", port, err)
		}
		return at, nil
	}
	for p := firstPort; p < firstPort+10; p++ {
		if at, err := try(p); err == nil {
			return at, nil
		}
	}
	at, err := try(0)
	if err != nil {
		return nil, say.Failed("restart the machine, or ask whoever looks after it", "no port of this machine can be opened: %w", err)
	}
	return at, nil
}

// show opens the address in the browser, where there is one to be seen.
func (s *serving) show(e env, address string) {
	if s.noOpen || e.screen == nil {
		return
	}
	var c *exec.Cmd
	switch runtime.GOOS {
	case "windows":
		c = exec.Command("rundll32", "url.dll,FileProtocolHandler", address)
	case "darwin":
		c = exec.Command("open", address)
	default:
		if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
			return
		}
		c = exec.Command("xdg-open", address)
	}
	c.Stdout, c.Stderr = io.Discard, io.Discard
	if c.Start() == nil { // the address is printed, too
		go func() { _ = c.Wait() }()
	}
}
