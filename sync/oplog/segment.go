package oplog

// Segment makes one batch of consecutive ones of a log, oldest first. It carries the
// last one's signature, which signs the head of the chain and with it every operation
// before: nothing that was signed becomes less certain, and what a device sealed one
// by one takes a fifth of the room and one check instead of many. The batch that a log
// begins with stays by itself: readers judge by it whether they take what follows.
//
// The errors are ErrGap if the batches do not follow each other or begin the log,
// ErrFork if their chains differ, and ErrTooBig if they are more than a batch may hold.
func Segment(run []*Batch) (*Batch, error) {
	if len(run) == 0 || run[0].First == 1 {
		return nil, ErrGap
	}
	s := &Batch{Device: run[0].Device, First: run[0].First, Prev: run[0].Prev}
	head := Head{Seq: s.First - 1, Hash: s.Prev}
	for _, b := range run {
		if b.Device != s.Device || b.First > head.Seq+1 || b.Last() <= head.Seq {
			return nil, ErrGap
		}
		past := int(head.Seq + 1 - b.First) // operations that the batch before holds too
		end, rest, err := b.chain(past)
		if err != nil {
			return nil, err
		}
		if begins := (Head{Seq: head.Seq, Hash: b.Prev}); past == 0 && begins != head || past > 0 && *end.at != head {
			return nil, ErrFork
		}
		s.Ops, s.Sig, head = append(s.Ops, rest...), b.Sig, end.head
	}
	if s.Count = int(head.Seq + 1 - s.First); s.Count > MaxBatchOps || len(s.Ops) > MaxBatchBytes {
		return nil, ErrTooBig
	}
	s.wire = s.Encode()
	return s, nil
}

// fewLoose is how many batches are not worth putting together.
const fewLoose = 8

// Segments puts many small batches of a log, which follow each other, together, for
// somebody who has none of them yet. Few stay as they are.
func Segments(log []*Batch) ([]*Batch, error) {
	var out []*Batch
	for len(log) > 0 {
		n := together(log)
		if n < fewLoose {
			out, log = append(out, log[:n]...), log[n:]
			continue
		}
		s, err := Segment(log[:n])
		if err != nil {
			return nil, err
		}
		out, log = append(out, s), log[n:]
	}
	return out, nil
}

// together is how many batches, from the first, make a segment of at most half of what a
// batch may hold.
func together(log []*Batch) int {
	if log[0].First == 1 {
		return 1
	}
	ops, bytes := 0, 0
	for i, b := range log {
		ops, bytes = ops+b.Count, bytes+len(b.Ops)
		if i > 0 && (ops > MaxBatchOps/2 || bytes > MaxBatchBytes/4) {
			return i
		}
	}
	return len(log)
}

// SameEnd gives ErrFork if two batches that end at the same number do not end with the
// same hash. If they do, they hold the same, as far as both go back.
func SameEnd(a, b *Batch) error {
	x, err := a.HashAt(b.Last())
	if err != nil {
		return err
	}
	y, err := b.HashAt(b.Last())
	if err == nil && x != y {
		err = ErrFork
	}
	return err
}
