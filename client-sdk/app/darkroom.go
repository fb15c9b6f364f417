package app

import (
	"context"
	"image"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/photo/leaf"
)

// Darkroom is what the app cannot do with photos by itself: a browser decodes and draws
// far faster, and knows kinds of files that we do not.
type Darkroom interface {
	// Prepare makes a camera's file fit for keeping, if full is set at its full size. The
	// look is its pixels at the size at which photos are judged, nil where they cannot
	// be had.
	Prepare(file []byte, full bool) (kept []byte, look image.Image, err error)
	// Look gives the pixels of a kept photo, with its longer side at most so long.
	Look(kept []byte, long int) (image.Image, error)
}

// developed is a photo that is kept on this phone.
type developed struct {
	sum   model.PhotoSum
	look  image.Image
	doubt leaf.Reason // why it had better be taken again; leaf.OK if nothing speaks against it
}

// develop keeps a camera's file and judges it. It runs beside the App.
func develop(ctx context.Context, house *replica.Replica, room Darkroom, file []byte, full bool) (developed, error) {
	kept, look, err := room.Prepare(file, full)
	if err != nil {
		return developed{}, err
	}
	p := developed{look: look}
	if p.sum, err = house.AddPhoto(ctx, kept); err == nil && look != nil {
		p.doubt = leaf.Check(look).Reason
	}
	return p, err
}
