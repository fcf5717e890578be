package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"

	"kitwright/internal/say"
)

// fault is an error as the page shows it: what is wrong, what to try.
type fault struct {
	What    string `json:"what"`
	Try     string `json:"try,omitempty"`
	Setting string `json:"setting,omitempty"` // the field it is about
	Code    string `json:"code,omitempty"`    // for the page's script: "gone", "changed", "restarted" ...

	status int
}

// faultOf tells an error in the page's words.
func faultOf(err error) *fault {
	var said *say.Error
	switch {
	case errors.As(err, &said):
		what, try := said.Words(settingWord)
		f := &fault{What: sentence(what), Try: sentence(try), Setting: said.Setting, status: http.StatusInternalServerError}
		if said.Usage {
			f.status = http.StatusUnprocessableEntity
		}
		return f
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return &fault{What: word("fault.stopped"), Code: "stopped", status: http.StatusServiceUnavailable}
	}
	return &fault{What: sentence(err.Error()), status: http.StatusInternalServerError}
}

// fail answers with an error.
func fail(w http.ResponseWriter, err error) {
	var f *fault
	if !errors.As(err, &f) {
		f = faultOf(err)
	}
	answer(w, f.status, map[string]any{"error": f})
}

func (f *fault) Error() string { return f.What }

// faulty returns a fault of the page's own.
func faulty(status int, code, key string) *fault {
	return &fault{What: word("fault." + key), Try: words["fault."+key+".try"], Code: code, status: status}
}

// answer sends a value.
func answer(w http.ResponseWriter, status int, v any) {
	body, err := json.Marshal(v)
	if err != nil {
		status, body = http.StatusInternalServerError, []byte(`{"error":{"what":"The answer could not be written."}}`)
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	w.Write(body)
}

// read reads what a page asks for: small, and nothing but what is known.
func read(w http.ResponseWriter, r *http.Request, into any) error {
	in := json.NewDecoder(http.MaxBytesReader(w, r.Body, 4<<20))
	in.DisallowUnknownFields()
	if err := in.Decode(into); err != nil {
		var much *http.MaxBytesError
		if errors.As(err, &much) {
			return faulty(http.StatusRequestEntityTooLarge, "", "large")
		}
		return faulty(http.StatusBadRequest, "", "request")
	}
	return nil
}
