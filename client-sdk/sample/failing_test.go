package sample_test

import (
	"context"

	"leafturn/client-sdk/replica"
)

// failing is a vault whose disk is full when the photos come.
type failing struct {
	replica.Vault
	err error
}

func (f failing) PutPhoto(context.Context, replica.Photo, []byte) error { return f.err }
