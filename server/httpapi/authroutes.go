package httpapi

import (
	"encoding/base64"
	"encoding/json"
	"time"

	"github.com/gofiber/fiber/v2"

	"leafturn/model"
	"leafturn/server/auth"
)

// who is the part that both sign-in requests share.
type who struct {
	Household model.HouseholdID `json:"household"`
	Device    model.DeviceID    `json:"device"`
}

type challengeAnswer struct {
	Challenge string    `json:"challenge"`
	Expires   time.Time `json:"expires"`
}

func (s *server) challenge(c *fiber.Ctx) error {
	var q who
	if err := readJSON(c, &q); err != nil {
		return err
	}
	if q.Household.IsZero() || q.Device.IsZero() {
		return errRequest
	}
	ch := s.auth.Challenge(q.Household, q.Device)
	return c.JSON(challengeAnswer{ch.Text, ch.Expires.UTC()})
}

type proofRequest struct {
	who
	Challenge string `json:"challenge"`
	Signature string `json:"signature"` // base64url without padding
}

type tokenAnswer struct {
	Token   string    `json:"token"`
	Expires time.Time `json:"expires"`
}

func (s *server) token(c *fiber.Ctx) error {
	var q proofRequest
	if err := readJSON(c, &q); err != nil {
		return err
	}
	signature, err := base64.RawURLEncoding.DecodeString(q.Signature)
	if err != nil {
		return errRequest.Because(err)
	}
	t, err := s.auth.Token(c.UserContext(), auth.Proof{
		Household: q.Household,
		Device:    q.Device,
		Challenge: q.Challenge,
		Signature: signature,
	})
	if err != nil {
		return err
	}
	return c.JSON(tokenAnswer{t.Text, t.Expires.UTC()})
}

// readJSON reads the body whatever content type it claims.
func readJSON(c *fiber.Ctx, into any) error {
	if err := json.Unmarshal(c.Body(), into); err != nil {
		return errRequest.Because(err)
	}
	return nil
}
