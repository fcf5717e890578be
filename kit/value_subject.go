package kit

// about is the value of --subject: a box, or none.
type about struct {
	box  *Box
	none *bool
}

func (a about) String() string {
	switch {
	case a.box == nil:
		return ""
	case *a.none:
		return "none"
	}
	return a.box.String()
}

func (a about) Set(s string) error {
	if s == "none" {
		*a.box, *a.none = Box{}, true
		return nil
	}
	if err := a.box.Set(s); err != nil {
		return err
	}
	*a.none = false
	return nil
}

func (a about) Type() string { return "BOX|none" }
