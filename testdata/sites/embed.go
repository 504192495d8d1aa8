// Package sites holds the invented demo site and the reference file of the format.
// go:embed cannot look upward, so it stands beside them.
package sites

import _ "embed"

// Demo and DemoChange are templates: a demo starts on any day, and its dates are
// counted from that day. sitefile.Demo and sitefile.DemoChange fill them in.
var (
	//go:embed demo.yaml
	Demo string
	//go:embed demo-change.yaml
	DemoChange string
)
