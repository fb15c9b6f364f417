package replica

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"

	"leafturn/model"
)

// A server may lose photos that it had confirmed: it was set back to a backup, or its
// disk failed. Then the phone that took them holds the only copy, so it asks now and
// then what the server lacks, and sends that again.

const (
	// askEvery is how long a phone waits between two questions.
	askEvery = 24 * 60 * 60 * 1000

	// mostAsked is how many photos one question names. A phone goes on from there the
	// next day, so that the questions stay short however many photos there are.
	mostAsked = 500

	// keptAsked is when this phone last asked, in 8 bytes, and how many of its photos
	// it had asked about then, in 4.
	keptAsked = "asked"
)

// askMissing puts photos back into the queue that the server had and has no longer. A
// server that was restored is asked about all at once, and so is a second one, because
// a photo is marked as sent whichever server has got it.
func (r *Replica) askMissing(ctx context.Context, s *Server) error {
	kept, err := r.vault.Kept(ctx, keptAsked)
	if err != nil {
		return err
	}
	last, next := int64(0), 0
	if len(kept) == 12 {
		last, next = int64(binary.BigEndian.Uint64(kept)), int(binary.BigEndian.Uint32(kept[8:]))
	}
	now, c := int64(r.Now()), r.contact()
	all := c != nil && !c.Asked
	if since := now - last; !all && since >= 0 && since < askEvery {
		return nil
	}
	sums, err := r.sentPhotos(ctx)
	if err != nil {
		return err
	}
	if all || next >= len(sums) {
		next = 0
	}
	for more := len(sums) > 0; more; more = all && next < len(sums) {
		page := sums[next:min(next+mostAsked, len(sums))]
		if err := r.sendAgain(ctx, s, page); err != nil {
			return err
		}
		next += len(page)
	}
	if all {
		if err := r.asked(ctx, c); err != nil {
			return err
		}
	}
	kept = binary.BigEndian.AppendUint64(nil, uint64(now))
	return r.vault.Keep(ctx, keptAsked, binary.BigEndian.AppendUint32(kept, uint32(next)))
}

// asked notes that a store was asked about all photos. If it was restored meanwhile,
// there is another contact with it, which has not been asked.
func (r *Replica) asked(ctx context.Context, c *contact) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	c.Asked = true
	return r.keepContacts(ctx)
}

// sentPhotos are the photos of this phone's member that do not wait to be sent, in the
// order of the entries that show them.
func (r *Replica) sentPhotos(ctx context.Context) ([]model.PhotoSum, error) {
	queue, err := r.vault.Queue(ctx)
	if err != nil {
		return nil, err
	}
	passed := map[model.PhotoSum]bool{}
	for _, p := range queue {
		passed[p.Sum] = true
	}
	me := r.Member()
	var sums []model.PhotoSum
	r.Read(func(b *model.Book) {
		b.EachPhoto(func(sum model.PhotoSum, f *model.Fact) {
			if d := b.Devices[f.ID.Device]; d != nil && d.Member == me && !passed[sum] {
				sums = append(sums, sum)
				passed[sum] = true
			}
		})
	})
	return sums, nil
}

// sendAgain asks which photos the server lacks, and queues those that are here.
func (r *Replica) sendAgain(ctx context.Context, s *Server, sums []model.PhotoSum) error {
	missing, err := s.missing(ctx, sums)
	if err != nil {
		return err
	}
	for _, sum := range missing {
		data, mime, err := r.vault.PhotoBytes(ctx, sum, 0)
		if errors.Is(err, ErrNoPhoto) {
			continue // another phone has it, or nobody
		}
		if err != nil {
			return err
		}
		p := Photo{Sum: sum, Type: mime, Bytes: len(data), Added: r.Now()}
		if err := r.vault.PutPhoto(ctx, p, data); err != nil {
			return err
		}
		// One that is known already is only marked as not sent.
		if err := r.vault.UpdatePhoto(ctx, p); err != nil {
			return err
		}
	}
	return nil
}

// missing asks the server which photos it has not got.
func (s *Server) missing(ctx context.Context, sums []model.PhotoSum) ([]model.PhotoSum, error) {
	texts := make([]string, len(sums))
	for i, sum := range sums {
		texts[i] = sum.String()
	}
	body, err := json.Marshal(map[string][]string{"sums": texts})
	if err != nil {
		return nil, err
	}
	resp, err := s.do(ctx, Request{Method: "POST", Path: s.home() + "/photos/missing", Body: body, Header: map[string]string{"content-type": "application/json"}})
	if err := failed(resp, err); err != nil {
		return nil, err
	}
	var answer struct{ Missing []string }
	if err := json.Unmarshal(resp.Body, &answer); err != nil {
		return nil, ErrServer.Because(err)
	}
	var out []model.PhotoSum
	for _, text := range answer.Missing {
		sum, err := model.ParsePhotoSum(text)
		if err != nil {
			return nil, ErrServer.Because(err)
		}
		out = append(out, sum)
	}
	return out, nil
}

// answered reports whether a server spoke, so that photos can be sent although it would
// not say what it lacks.
func answered(err error) bool {
	var status statusError
	return errors.As(err, &status) && status != 401
}
