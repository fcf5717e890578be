package subject_test

import (
	"bytes"
	"context"
	"fmt"

	"kitwright/photo"
	"kitwright/photo/subject"
)

// The demo cat, from an ellipse about it: every cell of a mask is inside or not.
func Example() {
	p, err := photo.Read(context.Background(), bytes.NewReader(photo.Demo()), photo.Limits{})
	if err != nil {
		panic(err)
	}
	o := subject.Locate(p, p.Whole(), subject.Hints{About: []photo.Ellipse{{X: 0, Y: 0, W: 85, H: 100}}})
	m := o.On(p.Whole(), 30, 20)
	fmt.Println("found by:", o.By)
	fmt.Println("the nose:", m.In[13*30+14])
	fmt.Println("the right upper corner:", m.In[29])
	// Output:
	// found by: ellipse
	// the nose: true
	// the right upper corner: false
}
