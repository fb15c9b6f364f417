package replica

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/photo/exif"
)

// ThumbnailSize is the longest edge, in pixels, of the rendering that lists show.
const ThumbnailSize = 320

// AddPhoto keeps a photo on this phone. Position and other private metadata are taken
// out first, so they are never on this phone's disk and never leave it. The sum goes
// into the fact that shows the photo; once there is one, the photo is sent.
func (r *Replica) AddPhoto(ctx context.Context, data []byte) (model.PhotoSum, error) {
	clean, err := exif.Strip(data)
	if err != nil {
		return model.PhotoSum{}, err
	}
	p := Photo{Sum: sha256.Sum256(clean.Kept), Type: clean.Type.MIME(), Bytes: len(clean.Kept), Added: r.Now(), Sent: r.identity.Local}
	return p.Sum, r.vault.PutPhoto(ctx, p, clean.Kept)
}

// PhotoBytes gives a photo, or its rendering of a size (0 the photo itself): from
// this phone if it is here, else from the server, keeping what came. A photo that
// was taken here stands in for its own rendering. s may be nil when offline.
func (r *Replica) PhotoBytes(ctx context.Context, s *Server, sum model.PhotoSum, size int) ([]byte, string, error) {
	for _, have := range []int{size, 0} {
		data, mime, err := r.vault.PhotoBytes(ctx, sum, have)
		if err == nil || !errors.Is(err, ErrNoPhoto) {
			return data, mime, err
		}
	}
	if s == nil {
		return nil, "", ErrNoPhoto
	}
	data, mime, err := s.Photo(ctx, sum, size)
	if err != nil {
		return nil, "", err
	}
	if size == 0 && sha256.Sum256(data) != sum {
		return nil, "", ErrServer.Because(fmt.Errorf("photo %s: %d other bytes", sum, len(data)))
	}
	return data, mime, r.vault.PutRendering(ctx, sum, size, mime, data)
}

// DropPhoto gives a photo up: it is never uploaded and its bytes are forgotten.
func (r *Replica) DropPhoto(ctx context.Context, sum model.PhotoSum) error {
	return r.vault.DropPhoto(ctx, sum)
}

// RetryPhoto puts a photo that failed back into the queue.
func (r *Replica) RetryPhoto(ctx context.Context, sum model.PhotoSum) error {
	queue, err := r.vault.Queue(ctx)
	if err != nil {
		return err
	}
	for _, p := range queue {
		if p.Sum == sum {
			p.Held, p.Code, p.Words, p.Upload = false, "", "", ""
			return r.vault.UpdatePhoto(ctx, p)
		}
	}
	return ErrNoPhoto
}

// Upload sends the photos of the Queue, one after the other, each from where it was
// interrupted. A photo that the server refuses is held for a person and does not
// stop the others; without an answer from the server the rest stays for later. It
// also stays once may says no, which is asked before each request that costs
// something; nil never does.
func (r *Replica) Upload(ctx context.Context, s *Server, may func() bool) error {
	if may == nil {
		may = func() bool { return true }
	}
	if !may() {
		return nil
	}
	if err := r.askMissing(ctx, s); err != nil && !answered(err) {
		return err
	}
	queue, err := r.Queue(ctx)
	if err != nil {
		return err
	}
	for _, p := range queue {
		if p.Held {
			continue
		}
		err := r.upload(ctx, s, &p, may)
		if errors.Is(err, errPaused) {
			return nil
		}
		if err != nil && !p.refuse(err) {
			return err
		}
		if err == nil {
			p.Sent, p.Upload, p.Code, p.Words = true, "", "", ""
		}
		// One that was dropped meanwhile is nobody's business any more.
		if err := r.vault.UpdatePhoto(ctx, p); err != nil && !errors.Is(err, ErrNoPhoto) {
			return err
		}
	}
	return nil
}

// mostTries is how often a photo is sent again that the server refused for reasons
// which are not the photo's.
const mostTries = 5

// photoQuota is the refusal of a photo for which the household has no space left. A
// person must hear of it: unlike a full disk, it refuses photos and no entries.
const photoQuota fault.Code = "photo_quota"

// refuse notes that the server will not have the photo, and reports false if the
// error says nothing about the photo: nobody answered, the server has trouble or no
// room, or this phone could not sign in.
func (p *Photo) refuse(err error) bool {
	var status statusError
	if !errors.As(err, &status) {
		return false
	}
	switch status {
	case 401, 403, 408, 425, 429:
		return false
	}
	f := asFault(err)
	if status >= 500 && f.Code != photoQuota {
		return false
	}
	p.Tries, p.Code, p.Words, p.Upload = p.Tries+1, f.Code, f.Words, ""
	p.Held = strings.HasPrefix(string(f.Code), "photo_") || p.Tries >= mostTries
	return true
}

// chunkBytes is how much of a photo goes into one request: what is lost when the
// connection breaks is at most this.
const chunkBytes = 512 << 10

// errPaused ends an upload that goes on another time.
var errPaused = errors.New("upload paused")

func (r *Replica) upload(ctx context.Context, s *Server, p *Photo, may func() bool) error {
	if !may() {
		return errPaused
	}
	data, _, err := r.vault.PhotoBytes(ctx, p.Sum, 0)
	if errors.Is(err, ErrNoPhoto) {
		return nil // dropped meanwhile
	}
	if err != nil {
		return err
	}
	offset, err := r.beginUpload(ctx, s, p)
	if err != nil {
		return err
	}
	// Twice the needed requests leave room for offsets that had to be asked for, and
	// end the talk with a server that never gets anywhere.
	for range 2 * (len(data)/chunkBytes + 2) {
		if offset == len(data) {
			return nil
		}
		if offset > len(data) {
			break
		}
		if !may() {
			return errPaused
		}
		if offset, err = s.append(ctx, p.Upload, offset, data[offset:min(offset+chunkBytes, len(data))]); err != nil {
			return err
		}
	}
	return ErrServer.Because(fmt.Errorf("upload of %d bytes stands at %d", len(data), offset))
}

// beginUpload takes up the photo's upload, or begins one, and says where it stands.
func (r *Replica) beginUpload(ctx context.Context, s *Server, p *Photo) (int, error) {
	offset, err := s.resume(ctx, p.Upload)
	if p.Upload != "" && !errors.Is(err, errUploadGone) {
		return offset, err
	}
	if p.Upload, offset, err = s.createUpload(ctx, p); err != nil {
		return 0, err
	}
	// Kept at once, so that a killed app goes on with this upload.
	return offset, r.vault.UpdatePhoto(ctx, *p)
}

// The upload protocol is tus 1.0.0 with its creation extension.

var errUploadGone = fault.New("upload_gone", "The server has forgotten this upload; it begins again.")

func tus(more map[string]string) map[string]string {
	more["tus-resumable"] = "1.0.0"
	return more
}

// createUpload begins an upload. It stands at its end if the server has the photo.
func (s *Server) createUpload(ctx context.Context, p *Photo) (path string, offset int, err error) {
	resp, err := s.do(ctx, Request{Method: "POST", Path: s.home() + "/uploads", Header: tus(map[string]string{
		"upload-length":   strconv.Itoa(p.Bytes),
		"upload-metadata": "sha256 " + base64.StdEncoding.EncodeToString([]byte(p.Sum.String())),
	})})
	if err := failed(resp, err); err != nil {
		return "", 0, err
	}
	if resp.Header["location"] == "" {
		return "", 0, ErrServer
	}
	if resp.Header["upload-offset"] != "" {
		offset, err = offsetOf(resp)
	}
	return pathOf(resp.Header["location"]), offset, err
}

// pathOf takes the path out of a location, which may name the server as well: this
// phone keeps to the server it knows.
func pathOf(location string) string {
	for i := range location {
		if location[i] == '/' && i+len(api) <= len(location) && location[i:i+len(api)] == api {
			return location[i:]
		}
	}
	return location
}

// resume asks how far an upload is.
func (s *Server) resume(ctx context.Context, path string) (int, error) {
	if path == "" {
		return 0, nil
	}
	resp, err := s.do(ctx, Request{Method: "HEAD", Path: path, Header: tus(map[string]string{})})
	if err != nil {
		return 0, err
	}
	if resp.Status == 404 || resp.Status == 410 {
		return 0, errUploadGone
	}
	return offsetOf(resp)
}

// append sends one chunk. A wrong offset is mended by asking for the right one.
func (s *Server) append(ctx context.Context, path string, offset int, chunk []byte) (int, error) {
	resp, err := s.do(ctx, Request{Method: "PATCH", Path: path, Body: chunk, Header: tus(map[string]string{
		"upload-offset": strconv.Itoa(offset), "content-type": "application/offset+octet-stream",
	})})
	if err != nil {
		return 0, err
	}
	if resp.Status == 409 {
		at, err := s.resume(ctx, path)
		if err == nil && at == offset {
			err = ErrServer // it contradicts itself
		}
		return at, err
	}
	return offsetOf(resp)
}

func offsetOf(resp *Response) (int, error) {
	if err := failed(resp, nil); err != nil {
		return 0, err
	}
	n, err := strconv.Atoi(resp.Header["upload-offset"])
	if err != nil || n < 0 {
		return 0, ErrServer.Because(err)
	}
	return n, nil
}
