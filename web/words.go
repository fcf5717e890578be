package web

import (
	"embed"
	"encoding/json"
	"strings"
	"unicode"
	"unicode/utf8"
)

//go:embed assets
var assets embed.FS

// words is every English word of the page by its key. Another language is
// another such file.
var words = func() map[string]string {
	text, err := assets.ReadFile("assets/words.en.json")
	if err != nil {
		panic(err) // it is in the binary
	}
	m := map[string]string{}
	if err := json.Unmarshal(text, &m); err != nil {
		panic(err)
	}
	return m
}()

// word returns the words of a key. A test looks for keys that have none.
func word(key string) string {
	if w, ok := words[key]; ok {
		return w
	}
	return key
}

// settingWord is how the page writes a setting: the words beside its field.
func settingWord(name string) string {
	if w, ok := words["setting."+name]; ok {
		return "“" + w + "”"
	}
	return "“" + strings.ReplaceAll(name, "-", " ") + "”"
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	first, n := utf8.DecodeRuneInString(s)
	s = string(unicode.ToUpper(first)) + s[n:]
	if strings.ContainsRune(".!?", rune(s[len(s)-1])) {
		return s
	}
	return s + "."
}
