package web

import (
	"bytes"
	"context"
	"image/jpeg"
	"net/http"
	"sync"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/photo"
	"kitwright/render"
)

// demoLook is the demo photo in drills, for the first place; made once.
type demoLook struct {
	once sync.Once
	jpg  []byte
	body map[string]any
	err  error
}

func (d *demoLook) make() error {
	d.once.Do(func() {
		src, err := kit.Open(context.Background(), bytes.NewReader(photo.Demo()), photo.DemoName)
		if err != nil {
			d.err = err
			return
		}
		o := kit.DefaultOrder()
		o.Grid, o.Colors, o.Effort, o.Turn = kit.Cells{Cols: 112, Rows: 84}, 24, kit.EffortQuick, kit.TurnAsked
		prep, err := src.Lay(context.Background(), o.Canvas, o.Light)
		if err != nil {
			d.err = err
			return
		}
		k, err := prep.Kit(context.Background(), o.Choice)
		if err != nil {
			d.err = err
			return
		}
		var b bytes.Buffer
		d.err = jpeg.Encode(&b, src.Photo.Picture(prep.Layout.Crop, 960, 960), &jpeg.Options{Quality: 88})
		d.jpg = b.Bytes()
		d.body = map[string]any{"cols": k.Chart.Cols, "rows": k.Chart.Rows, "hex": hexes(k.Chart), "cells": k.Chart.Cells, "photo": "/api/demo.jpg"}
	})
	return d.err
}

func (t *Table) routesOfDemo() {
	t.mux.HandleFunc("GET /api/demo", func(w http.ResponseWriter, r *http.Request) {
		if err := t.demo.make(); err != nil {
			fail(w, err)
			return
		}
		answer(w, http.StatusOK, t.demo.body)
	})
	t.mux.HandleFunc("GET /api/demo.jpg", func(w http.ResponseWriter, r *http.Request) {
		if err := t.demo.make(); err != nil {
			fail(w, err)
			return
		}
		w.Header().Set("Content-Type", "image/jpeg")
		w.Write(t.demo.jpg)
	})
}

// settings is the one table of what may be wanted, for the page's form: what
// the command shows as flags.
func settings() []map[string]any {
	var out []map[string]any
	add := func(print bool, bind func(*pflag.FlagSet)) {
		fs := pflag.NewFlagSet("", pflag.ContinueOnError)
		fs.SortFlags = false
		bind(fs)
		fs.VisitAll(func(f *pflag.Flag) {
			if f.Name == "font" { // the page reads no files of this machine
				return
			}
			out = append(out, map[string]any{
				"name": f.Name, "type": f.Value.Type(), "group": setting.GroupOf(f), "default": f.DefValue, "print": print,
				"says": sentence(say.Reading(f.Usage).Words(settingWord)),
			})
		})
	}
	o, p := kit.DefaultOrder(), render.DefaultPrint()
	add(false, o.Bind)
	add(true, p.Bind)
	return out
}
