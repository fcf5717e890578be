//go:build !race

package checker

const racing = false
