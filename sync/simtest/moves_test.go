package simtest_test

import (
	"math/rand/v2"
)

// kind is what happens in a move.
type kind uint8

// The kinds of moves.
const (
	writing kind = iota
	working
	atOnce
	syncing
	carrying
	arriving
	waiting
	settingClock
	parting
	killing
	failingPower
	failingServer
	failingDisk
	saving
	joining
	changingRights
	reinstalling
	restoring
	forging
	copying
	settingBack
	sharing
	partingWays
	repeating
)

// moves says what each kind does and how often it comes, out of 100 or so.
var moves = map[kind]struct {
	often int
	do    func(*world) error
}{
	writing:        {18, (*world).someWrite},
	working:        {14, (*world).someWork},
	atOnce:         {3, (*world).twoWriteAtOnce},
	syncing:        {28, (*world).someSync},
	carrying:       {3, (*world).fileIsCarried},
	arriving:       {6, (*world).lateArrival},
	waiting:        {4, (*world).timePasses},
	settingClock:   {3, (*world).clockIsSet},
	parting:        {3, (*world).someoneIsCutOff},
	killing:        {4, (*world).appIsKilled},
	failingPower:   {4, (*world).phoneWillFail},
	failingServer:  {3, (*world).serverWillFail},
	failingDisk:    {2, (*world).diskWillFail},
	saving:         {3, (*world).snapshotIsKept},
	joining:        {2, (*world).someoneJoins},
	changingRights: {3, (*world).rightsChange},
	reinstalling:   {1, (*world).phoneIsReinstalled},
	restoring:      {2, (*world).serverIsRestored},
	forging:        {3, (*world).someoneForges},
	copying:        {2, (*world).phoneIsCopied},
	settingBack:    {2, (*world).phoneIsSetBack},
	sharing:        {1, (*world).twoTakeOneInvitation},
	partingWays:    {2, (*world).historyIsGivenUp},
	repeating:      {2, (*world).isSaidAgain},
}

// move is one thing that happens. All that is left to chance in it comes from its
// dice, so a run without some of its moves is a run, and the others mean the same.
type move struct {
	kind kind
	dice uint64
}

// draw draws the moves of a seed.
func draw(seed uint64, n int) []move {
	random := rand.New(rand.NewPCG(seed, 0x1eaf))
	all := 0
	for k := range kind(len(moves)) {
		all += moves[k].often
	}
	out := make([]move, n)
	for i := range out {
		k, left := kind(0), random.IntN(all)
		for left >= moves[k].often {
			left -= moves[k].often
			k++
		}
		out[i] = move{k, random.Uint64()}
	}
	return out
}
