package cardtest

import (
	"encoding/json"
	"fmt"
	"os"

	"leafturn/photo/card"
)

// Truth is what is true of a drawn card that is kept as a file.
type Truth struct {
	Count   int
	Corners card.Corners
	Specks  []card.Point
}

// ReadTruth reads the file beside a drawn card.
func ReadTruth(path string) (Truth, error) {
	var t Truth
	b, err := os.ReadFile(path)
	if err != nil {
		return t, fmt.Errorf("read truth: %w", err)
	}
	if err := json.Unmarshal(b, &t); err != nil {
		return t, fmt.Errorf("parse truth: %w", err)
	}
	return t, nil
}
