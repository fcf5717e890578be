package web

import (
	"fmt"
	"os"
	"testing"

	"github.com/chromedp/chromedp"
)

// Every state on three screens, light and dark:
//
//	KITWRIGHT_SCREENS=FOLDER go test -run TestScreens ./web
func TestScreens(t *testing.T) {
	if os.Getenv("KITWRIGHT_SCREENS") == "" {
		t.Skip("KITWRIGHT_SCREENS names no folder for the pictures")
	}
	o := openTable(t, Config{})
	id := o.demo("")
	o.want("POST", "/api/kits/"+id+"/order", map[string]any{"order": map[string]string{"size": "30x40cm", "colors": "auto", "effort": "normal", "focus": "27,25,20,26;63,33,16,24"}, "ladder": true}, nil)
	o.wait(id)
	made := false
	only := os.Getenv("KITWRIGHT_SCREEN")
	for name, s := range map[string]screen{"desktop": desktop, "tablet": tablet, "phone": phone} {
		for _, dark := range []bool{false, true} {
			s.dark = dark
			look := fmt.Sprintf("-%s-%s", name, map[bool]string{false: "light", true: "dark"}[dark])
			if only != "" && "-"+only != look {
				continue
			}
			b := browse(t, o, s)
			b.shot("start" + look)
			b.open("/kit/" + id)
			b.until(`document.querySelectorAll(".rung .fin").length > 3 && document.getElementById("sum").children.length > 0`)
			b.until(`document.getElementById("look").width > 100`)
			b.until(`new Promise(r => setTimeout(() => r(true), 700))`)
			b.shot("work" + look)
			b.clean()
			if !made {
				b.do(chromedp.Click(chromedp.CSS("#open")))
				b.until(`location.pathname.endsWith("/chart") && document.documentElement.dataset.ready === "yes"`)
				made = true
			}
			b.open("/kit/" + id + "/chart")
			b.until(`document.querySelectorAll(".bag").length > 5`)
			b.do(chromedp.Click(chromedp.CSS("#bag-12")))
			for range 3 {
				b.do(chromedp.Click(chromedp.CSS("#in")))
			}
			b.until(`document.querySelectorAll("#near li").length > 3`)
			b.until(`new Promise(r => setTimeout(() => r(true), 300))`)
			b.shot("chart" + look)
			b.clean()
			b.open("/kit/" + id + "/print")
			b.until(`document.querySelectorAll(".pg img").length > 5`)
			b.until(`[...document.images].every(i => { i.loading = "eager"; return i.complete && i.naturalWidth })`)
			b.shot("print" + look)
			b.clean()
			b.open("/kit/" + id + "/drills")
			b.until(`document.querySelectorAll("tbody tr").length > 5`)
			b.shot("drills" + look)
			b.clean()
			b.open("/kit/" + id + "/placing")
			b.until(`document.querySelectorAll(".container").length > 2`)
			b.until(`new Promise(r => setTimeout(() => r(true), 300))`)
			b.shot("placing" + look)
			b.clean()
		}
	}
}
