module kitwright

go 1.26.0

require (
	github.com/disintegration/imaging v1.6.2
	github.com/jung-kurt/gofpdf v1.16.2
	github.com/lucasb-eyer/go-colorful v1.4.1
	github.com/spf13/pflag v1.1.0
	github.com/stretchr/testify v1.12.1
	github.com/tetratelabs/wazero v1.12.0
	golang.org/x/image v0.47.0
	golang.org/x/text v0.44.0
)

require go.yaml.in/yaml/v3 v3.0.5 // indirect

require golang.org/x/sys v0.49.0 // indirect
