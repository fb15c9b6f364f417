package httpapi

import (
	"github.com/gofiber/fiber/v2"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/upload"
)

// MemberPhotos mounts uploads and photos for the household that sent the request.
// While the disk is full no upload is begun or added to, but one may still ask how
// far it is, give it up, and look at photos.
func MemberPhotos(gate interface{ Check() error }, photos photo.Store, uploads *upload.Desk) Mount {
	household := func(c *fiber.Ctx) (model.HouseholdID, error) { return HouseholdOf(c), nil }
	room := NeedSpace(gate)
	return func(r fiber.Router) {
		r.Post("/uploads*", room)
		r.Patch("/uploads/*", room)
		(&Uploads{Desk: uploads, Photos: photos}).Mount(r, household)
		(&Photos{Store: photos}).Mount(r, household)
	}
}
