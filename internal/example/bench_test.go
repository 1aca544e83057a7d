package example_test

import (
	"testing"

	"railtally/internal/example"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

func BenchmarkReadExample(b *testing.B) {
	text := example.New(example.Seed).Text
	for b.Loop() {
		if _, _, err := studyfile.Read("example.yaml", text); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTallyExample(b *testing.B) {
	s, _, err := studyfile.Read("example.yaml", example.New(example.Seed).Text)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := tally.Run(s, tally.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
