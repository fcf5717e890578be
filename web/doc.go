// Package web is the worktable: a page on this machine where a photo becomes
// a printed kit by hand and eye. It is a second door to the road of package
// kit and has no logic of its own: the page asks, package kit, render and
// folder answer, and the same order gives the same bytes as the command.
//
// Begin with [New], which gives an http.Handler for one listener. guard.go says
// who may ask; library.go keeps the kits on disk, each change whole or not at
// all; jobs.go runs what takes long, one job a kit; events.go tells the pages.
// The files api_*.go are what the page can ask for, assets holds the page
// itself: plain HTML, CSS and modules, and every English word in one file.
package web
