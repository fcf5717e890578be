module kitwright

go 1.26.0

require (
	github.com/lucasb-eyer/go-colorful v1.4.1
	github.com/stretchr/testify v1.12.1
)

require go.yaml.in/yaml/v3 v3.0.5 // indirect
