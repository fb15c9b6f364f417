package phototest_test

import (
	"testing"

	"leafturn/photo"
	"leafturn/photo/phototest"
)

func TestMemory(t *testing.T) {
	phototest.Run(t, func(*testing.T) photo.Store { return phototest.NewMemory() })
}
