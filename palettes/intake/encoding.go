package intake

import (
	"bytes"
	"encoding/binary"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"kitwright/internal/say"
)

// Text returns the text of a small file that people save from a spreadsheet or
// an editor, whichever encoding they chose.
func Text(name string, data []byte) (string, error) {
	text, _, err := decode(name, data)
	return text, err
}

// decode returns the text of a file and, unless it is UTF-8, the name of its
// encoding: UTF-8, UTF-16 of both kinds with or without a mark, else
// Windows-1252, in which every byte means something.
func decode(name string, data []byte) (text, encoding string, err error) {
	switch {
	case bytes.HasPrefix(data, []byte("\ufeff")):
		text = string(data[3:])
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		text, encoding = utf16Text(data[2:], binary.LittleEndian), "UTF-16"
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		text, encoding = utf16Text(data[2:], binary.BigEndian), "UTF-16"
	case zeros(data, 1):
		text, encoding = utf16Text(data, binary.LittleEndian), "UTF-16"
	case zeros(data, 0):
		text, encoding = utf16Text(data, binary.BigEndian), "UTF-16"
	case utf8.Valid(data):
		text = string(data)
	default:
		out, derr := charmap.Windows1252.NewDecoder().Bytes(data)
		if derr != nil {
			return "", "", say.Failed("save it from the spreadsheet as CSV UTF-8", "%s is not text", name)
		}
		text, encoding = string(out), "Windows-1252"
	}
	if !utf8.ValidString(text) || strings.ContainsRune(text, 0) || mostlyControl(text) {
		return "", "", say.Failed("save it from the spreadsheet as CSV UTF-8 or as XLSX", "%s is not text", name)
	}
	return strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text), encoding, nil
}

// zeros tells UTF-16 without a mark: nearly every second byte of the beginning
// is 0, and hardly any of the others is.
func zeros(data []byte, odd int) bool {
	head := data[:min(len(data), 512)&^1]
	if len(head) < 4 || len(data)%2 != 0 {
		return false
	}
	in, out := 0, 0
	for i, b := range head {
		if b != 0 {
			continue
		}
		if i%2 == odd {
			in++
		} else {
			out++
		}
	}
	return in*10 >= len(head)/2*6 && out == 0
}

func utf16Text(data []byte, order binary.ByteOrder) string {
	units := make([]uint16, len(data)/2)
	for i := range units {
		units[i] = order.Uint16(data[2*i:])
	}
	return strings.TrimPrefix(string(utf16.Decode(units)), "\ufeff")
}

// mostlyControl tells a binary file that happens to decode: more than one
// character in twenty of its beginning is a control character.
func mostlyControl(text string) bool {
	head := text[:min(len(text), 4096)]
	n := 0
	for i := 0; i < len(head); i++ {
		if c := head[i]; c < ' ' && c != '\n' && c != '\r' && c != '\t' {
			n++
		}
	}
	return n*20 > len(head)
}
