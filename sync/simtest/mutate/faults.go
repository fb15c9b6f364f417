package main

// fault is a small change that makes the code wrong. The old text must be in its file
// exactly once.
type fault struct{ name, file, old, new string }

// faults are those that the simulation is to find.
var faults = []fault{
	{
		"of two settings with one stamp the lesser wins", "sync/merge/state.go",
		"return a.By.Compare(b.By)", "return b.By.Compare(a.By)",
	},
	{
		"the setting that arrives last wins", "sync/merge/state.go",
		"now != nil && now.By == w.By {", "now != nil {",
	},
	{
		"a clock does not go on from the stamps it takes in", "sync/hlc/hlc.go",
		"c.last = max(c.last, s)", "_ = s",
	},
	{
		"batches are read from one too far", "sync/exchange/exchange.go",
		"r.Read(ctx, d, p.theirs[d], room)", "r.Read(ctx, d, p.theirs[d]+1, room)",
	},
	{
		"the server acknowledges what its disk refused", "server/household/take.go",
		"if err := w.room.log.Append(ctx, batches); err != nil {", "if err := error(nil); err != nil {",
	},
	{
		"the phone says saved before its disk does", "client-sdk/replica/write.go",
		"if err := r.vault.AddPending(ctx, w.pending); err != nil {", "if err := error(nil); err != nil {",
	},
	{
		"what the phone sent counts as shared, whatever the server says", "client-sdk/replica/contact.go",
		"r.status.acked = min(r.status.acked, have)\n", "r.status.acked = r.sealed.Seq\n\tif have <= r.sealed.Seq {\n\t\treturn nil\n\t}\n",
	},
	{
		"a snapshot is opened without what came after it", "client-sdk/replica/replica.go",
		"!r.loadSnapshot(ctx, heads) || r.loadTails(ctx, heads) != nil", "!r.loadSnapshot(ctx, heads)",
	},
	{
		"a snapshot keeps the last write of each register only", "sync/merge/snapshot.go",
		"for _, w := range fields[key] {\n\t\t\tf.Writes", "for _, w := range fields[key][len(fields[key])-1:] {\n\t\t\tf.Writes",
	},
	{
		"unsigned operations are forgotten at the start of the app", "client-sdk/replica/replica.go",
		"if p.Seq <= r.sealed.Seq {\n\t\t\tcontinue", "if true {\n\t\t\tcontinue",
	},
	{
		"a batch is taken without its signature", "sync/oplog/tail.go",
		"if err := verify(key, t.household, t.device, next.head, b.Sig); err != nil {", "if err := error(nil); err != nil {",
	},
	{
		"guests change records", "sync/merge/prepare.go",
		"return role == model.Helper\n", "return true\n",
	},
	{
		"a revoked phone goes on", "sync/merge/rights.go",
		"last = min(last, endBy(op))", "_ = op",
	},
	{
		"a new role holds for what was written before it, too", "sync/merge/rights.go",
		"seq > seen(op, b.Seen, d)", "seq > 0 || seen(op, b.Seen, d) > 0",
	},
	{
		"a withdrawn fact counts", "model/book.go",
		"return b.WithdrawnBy(id) == nil", "return true",
	},
	{
		"the number of the next round is how many were done, and one", "model/agenda/past.go",
		"t.Key.Ordinal = known.highest + 1", "for k := range l.done {\n\t\tif k.Rule == r && k.Subject == subject {\n\t\t\tt.Key.Ordinal++\n\t\t}\n\t}",
	},
	{
		"of completions on one day the later is dropped", "model/agenda/row.go",
		"if c.first != nil && standing.CompareDone(c.first, f) < 0 {", "if c.first != nil && c.first.At/86_400_000 == f.At/86_400_000 {\n\t\treturn\n\t}\n\tif c.first != nil && standing.CompareDone(c.first, f) < 0 {",
	},
	{
		"a phone does not notice that it has copies", "client-sdk/replica/sync.go",
		"r.status.Blocked.Code == oplog.ErrFork.Code", "r.status.Blocked.Code == \"\"",
	},
	{
		"a phone keeps its own history of others' logs", "client-sdk/replica/sync.go",
		"range r.forks {", "range r.forks[:0] {",
	},
	{
		"what a copy holds alone is not written again", "client-sdk/replica/again.go",
		"if r.state.Tail(r.device).Head().Seq == 1 {", "if false {",
	},
	{
		"a founder's phone with a new key cannot found again", "client-sdk/replica/succession.go",
		"keptNext: nil, keptContact", "keptNext: nil, keptSetup: nil, keptContact",
	},
	{
		"two join by one invitation", "sync/merge/rights.go",
		"delete(r.open, b.Via)", "_ = b.Via",
	},
	{
		"two histories of a log are never told apart when their owners meet", "sync/exchange/exchange.go",
		"return said && p.theirs[d] > 0", "return false && said && p.theirs[d] > 0",
	},
	{
		"repeats count each time", "sync/merge/repeat.go",
		"return !back && a.ID", "return false && !back && a.ID",
	},
	{
		"a repeat that is taken back still counts", "model/book.go",
		"range b.repeats[target.ID] {", "range b.repeats[target.ID][:0] {",
	},
	{
		"a revoked device's successors go on", "sync/merge/rights.go",
		"if !r.stays(d, a, op.Body.(*oplog.Revoke)) {", "if false && !r.stays(d, a, op.Body.(*oplog.Revoke)) {",
	},
	{
		"nothing is brought along to a restored server", "client-sdk/replica/announce.go",
		"readErr != nil || len(others) == 0", "readErr != nil || len(others) >= 0",
	},
	{
		"a phone does not notice what a restored server has forgotten", "client-sdk/replica/contact.go",
		"restored := forgot || c.Epoch", "restored := c.Epoch",
	},
	{
		"which stores a phone met is not remembered", "client-sdk/replica/contact.go",
		"Stores: r.contacts})", "Stores: nil})",
	},
	{
		"a restored store keeps its epoch", "server/household/household.go",
		"err := s.store.Renew(ctx)", "err := error(nil)",
	},
	{
		"a phone that the server had forgotten does not notice", "client-sdk/replica/contact.go",
		"|| s.stranger && c.of(r.device) > 0", "",
	},
}

// others are those that other tests find and the simulation does not: what they need
// hardly ever comes together in it, or they are no trouble between phones and servers.
var others = []struct {
	fault
	folder, test string
}{
	{
		fault{
			"what a newcomer wrote is forgotten with the history of who invited it", "client-sdk/replica/follow.go",
			"kept = append(kept, orphans...)", "_ = orphans",
		},
		"client-sdk/replica", "TestANewcomerOfTheHistoryThatIsGivenUp",
	},
	{
		fault{
			"what was given up is not written again", "client-sdk/replica/follow.go",
			"if len(rest) > 0 {", "if len(rest) < 0 {",
		},
		"client-sdk/replica", "TestAPhoneFollowsTheServersHistory",
	},
	{
		fault{
			"what a newcomer wrote is forgotten with this phone's own history", "client-sdk/replica/succession.go",
			"if err := r.keepOrphans(ctx, &x); err != nil {", "if err := error(nil); err != nil {",
		},
		"client-sdk/replica", "TestANewcomerOfTheHistoryThatThisPhoneGivesUp",
	},
	{
		fault{
			"what two bring along who are one counts twice", "sync/merge/repeat.go",
			"return a.By == b.By || (s.before(a)", "return a.By == b.By || false && (s.before(a)",
		},
		"sync/merge", "TestTwoWhoComeBackSayItOnce",
	},
	{
		fault{
			"a log that ends elsewhere than the vault says is opened", "client-sdk/replica/replica.go",
			"if h != heads[d] {", "if false && h != heads[d] {",
		},
		"client-sdk/replica", "TestADamagedTailIsNotTaken",
	},
	{
		fault{
			"a snapshot passes whatever facts it holds", "sync/merge/audit.go",
			"if len(ops) > 0 && !a.same(b.Device, claimed, ops) {", "if false && !a.same(b.Device, claimed, ops) {",
		},
		"sync/merge", "TestAnAlteredSnapshotFailsItsAudit",
	},
	{
		fault{
			"what the check of a snapshot finds is not heeded", "client-sdk/replica/check.go",
			"if errors.Is(err, merge.ErrDiffers) {", "if r == nil && errors.Is(err, merge.ErrDiffers) {",
		},
		"client-sdk/replica", "TestAnAlteredSnapshotIsMadeAnew",
	},
}
