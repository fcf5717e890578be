package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"net"
	"net/http"
	"slices"
	"strings"
)

// guard decides who may ask: the person who has the key of this start, from a
// page of this server, and nobody else. Other programs and pages on the
// machine can reach the port, so an address alone is no proof.
type guard struct {
	hosts  []string // what a request's Host may be, exactly
	port   string
	key    string // opens the door once; in the address that serve prints
	cookie string // what the page shows from then on; another at each start
	secret []byte // of the pages' tokens
	cross  *http.CrossOriginProtection
}

// newGuard returns a guard for a listener on the loopback.
func newGuard(addr net.Addr, key string) *guard {
	_, port, _ := net.SplitHostPort(addr.String())
	return &guard{
		hosts: []string{"127.0.0.1:" + port, "localhost:" + port, "[::1]:" + port},
		port:  port, key: key, cookie: random(24), secret: []byte(random(32)),
		cross: http.NewCrossOriginProtection(),
	}
}

// random returns a word that nobody can guess.
func random(bytes int) string {
	b := make([]byte, bytes)
	rand.Read(b) // never fails
	return base64.RawURLEncoding.EncodeToString(b)
}

// policy is the page's Content-Security-Policy: nothing from anywhere else, no
// script or style in the text of a page.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; " +
	"worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'"

// secure sets the headers of every answer, also of those that refuse.
func secure(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Referrer-Policy", "same-origin") // with no-referrer a form would send Origin: null
	h.Set("Cache-Control", "no-store")
	h.Set("Permissions-Policy", "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=(), payment=(), usb=()")
}

// let says whether a request may go on, and if not, why. It answers the key of
// an address with the cookie.
func (g *guard) let(w http.ResponseWriter, r *http.Request) (reason string) {
	if !slices.Contains(g.hosts, r.Host) {
		return "host"
	}
	if o := r.Header.Get("Origin"); o != "" && o != "http://"+r.Host {
		return "origin"
	}
	// The address in a mail or a web terminal is opened from another site; it
	// brings the key, and is answered by the page itself: after a redirect the
	// strict cookie would not be sent.
	keyed := r.Method == http.MethodGet && r.URL.Path == "/" && same(r.URL.Query().Get("key"), g.key)
	site := r.Header.Get("Sec-Fetch-Site")
	mode := r.Header.Get("Sec-Fetch-Mode")
	if site != "" && site != "same-origin" && site != "none" && !(keyed && mode == "navigate" && r.Header.Get("Sec-Fetch-Dest") == "document") {
		return "site"
	}
	if err := g.cross.Check(r); err != nil {
		return "cross"
	}
	if keyed {
		http.SetCookie(w, &http.Cookie{Name: "kw" + g.port, Value: g.cookie, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
		return ""
	}
	c, err := r.Cookie("kw" + g.port)
	if err != nil || !same(c.Value, g.cookie) {
		return "cookie"
	}
	if r.Method != http.MethodGet && r.Method != http.MethodHead && g.pageOf(r.Header.Get(tokenHeader)) == "" {
		return "token"
	}
	return ""
}

// tokenHeader carries the page's token with each request that changes
// something: cookies are shared by all ports of the machine.
const tokenHeader = "X-Kit-Page"

// newPage returns the token of a page that is being shown: its name, and the
// proof that we gave it.
func (g *guard) newPage() string {
	id := strings.ToLower(hex.EncodeToString([]byte(random(6))))
	return id + "." + g.sign(id)
}

// pageOf returns the name of the page that a token was given to, or "".
func (g *guard) pageOf(token string) string {
	id, proof, ok := strings.Cut(token, ".")
	if !ok || id == "" || !same(proof, g.sign(id)) {
		return ""
	}
	return id
}

func (g *guard) sign(id string) string {
	m := hmac.New(sha256.New, g.secret)
	m.Write([]byte(id))
	return hex.EncodeToString(m.Sum(nil)[:16])
}

func same(a, b string) bool {
	return a != "" && b != "" && subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1
}
