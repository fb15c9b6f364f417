package sample_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/replica/memvault"
	"leafturn/client-sdk/sample"
	"leafturn/client-sdk/web"
	"leafturn/model"
)

// noon is an ordinary moment, without a change of clocks near it.
var noon = model.InstantOf(time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC))

func options(seed byte, now model.Instant) replica.Options {
	random := rand.NewChaCha8([32]byte{seed})
	return replica.Options{
		Wall:   func() int64 { return int64(now) },
		Random: random,
		NewID: func() uuid.UUID {
			id, err := uuid.NewRandomFromReader(random)
			if err != nil {
				panic(err)
			}
			return id
		},
	}
}

func photos(_ context.Context, name string) ([]byte, error) {
	return web.Files.ReadFile("sample/" + name)
}

func build(t *testing.T, seed byte, now model.Instant, zone string) (*replica.Replica, *memvault.Vault) {
	t.Helper()
	v := memvault.New()
	r, err := sample.Build(context.Background(), v, options(seed, now), now, zone, photos)
	require.NoError(t, err)
	return r, v
}

func TestRecords(t *testing.T) {
	r, _ := build(t, 1, noon, "Europe/Lisbon")
	require.True(t, r.Local())
	require.Equal(t, model.Keeper, r.Role())
	r.Read(func(b *model.Book) {
		require.Equal(t, "Europe/Lisbon", b.Household.Zone)
		require.NotEmpty(t, b.Household.Name)
		requireMembers(t, b)
		requirePlants(t, b)
		require.Len(t, b.Products, 3)
		for _, p := range b.Products {
			require.Contains(t, p.Cautions, "Invented label, not a recommendation")
			require.Contains(t, p.Name, "invented")
		}
	})
}

func requireMembers(t *testing.T, b *model.Book) {
	t.Helper()
	roles := map[model.Role]int{}
	for _, m := range b.Members {
		roles[m.Role]++
		require.NotEmpty(t, m.Name)
	}
	require.Equal(t, map[model.Role]int{model.Keeper: 1, model.Helper: 1, model.Guest: 1}, roles)
	require.Len(t, b.Devices, 3)
	wrote := map[model.MemberID]bool{}
	for _, f := range b.Facts() {
		require.Equal(t, b.Devices[f.ID.Device].Member, f.By, "everybody writes on a phone of their own")
		wrote[f.By] = true
	}
	require.Len(t, wrote, 3)
}

func requirePlants(t *testing.T, b *model.Book) {
	t.Helper()
	here := map[model.PlaceID]int{}
	var gone []*model.Plant
	for _, p := range b.Plants {
		require.NotEmpty(t, p.Name)
		require.NotEmpty(t, p.Species)
		if p.Removed {
			gone = append(gone, p)
			continue
		}
		here[p.Place]++
	}
	require.Len(t, b.Plants, 15)
	require.Len(t, gone, 1)
	require.Len(t, here, 4, "plants stand in four places")
	require.Len(t, b.Places, 4)
	for id, p := range b.Places {
		require.Contains(t, []int{7, 14}, p.RoundEvery)
		require.GreaterOrEqual(t, here[id], 2, p.Name)
	}
}

func TestOutbreak(t *testing.T) {
	r, _ := build(t, 1, noon, "UTC")
	today := noon.Date(time.UTC)
	r.Read(func(b *model.Book) {
		o, first, plan := coursesOf(t, b)
		require.Equal(t, model.PestThrips, o.Pest)
		require.Equal(t, today.Add(-21), o.Opened)
		require.Zero(t, o.Closed)
		require.Len(t, o.Affects, 5, "four plants of one place, one of them thrown out, and one of another place")
		require.Len(t, plan.Plants, 4)
		stand := map[model.PlaceID]int{}
		for _, p := range plan.Plants {
			require.True(t, o.Affects[p])
			stand[b.Plants[p].Place]++
			requireFightBeingWon(t, b, p, plan.Steps[0].Day.Start(time.UTC))
		}
		require.Len(t, stand, 2)
		for _, course := range []*model.PlanAccepted{first, plan} {
			require.Equal(t, model.Rhythm(course.Steps[0].Product, course.Steps[0].Day, 7, 4, 3), course.Steps)
			require.True(t, course.Isolate)
		}
		require.Equal(t, model.MeansSoap, b.Products[first.Steps[0].Product].Means, "gentle means first")
		require.Equal(t, model.MeansContactSpray, b.Products[plan.Steps[0].Product].Means)
	})
}

// coursesOf are the outbreak, its first course, and the one that took its place.
func coursesOf(t *testing.T, b *model.Book) (o *model.Outbreak, first, ruling *model.PlanAccepted) {
	t.Helper()
	require.Len(t, b.Outbreaks, 1)
	for _, o = range b.Outbreaks {
		plans := b.Plans(o.ID)
		require.Len(t, plans, 2)
		first, ruling = plans[0].Body.(*model.PlanAccepted), plans[1].Body.(*model.PlanAccepted)
	}
	return o, first, ruling
}

// requireFightBeingWon checks the looks at a treated plant since the ruling course
// began: each counts fewer than the one before, or none again.
func requireFightBeingWon(t *testing.T, b *model.Book, p model.PlantID, since model.Instant) {
	t.Helper()
	var before, after []int
	for _, f := range b.PlantFacts(p) {
		x, ok := f.Body.(*model.Inspection)
		if !ok {
			continue
		}
		total := 0
		for _, found := range x.Findings {
			total += found.Counts.Total()
		}
		if f.At < since {
			before = append(before, total)
		} else {
			after = append(after, total)
		}
	}
	require.GreaterOrEqual(t, len(after), 2)
	last := slices.Max(before)
	for _, n := range after {
		require.True(t, n < last || n == 0, "%s: %v, then %v", b.Plants[p].Name, before, after)
		last = n
	}
	require.LessOrEqual(t, last, 1, "%s: %v, then %v", b.Plants[p].Name, before, after)
}

// One plant shows its recovery on dated photos, which are here and wait for nobody.
func TestPhotos(t *testing.T) {
	ctx := context.Background()
	r, v := build(t, 1, noon, "UTC")
	shown := map[model.PlantID][]model.PhotoSum{}
	r.Read(func(b *model.Book) {
		for _, f := range b.Facts() {
			if x, ok := f.Body.(*model.Inspection); ok && len(x.Photos) > 0 {
				if x.Found() {
					require.Equal(t, model.Underside, x.Findings[0].Part)
				}
				shown[x.Plant] = append(shown[x.Plant], x.Photos...)
			}
		}
	})
	require.Len(t, shown, 1)
	for _, sums := range shown {
		require.Len(t, sums, 5)
		seen := map[model.PhotoSum]bool{}
		for i, sum := range sums {
			require.False(t, seen[sum])
			seen[sum] = true
			data, mime, err := r.PhotoBytes(ctx, nil, sum, replica.ThumbnailSize)
			require.NoError(t, err)
			require.Equal(t, "image/jpeg", mime)
			file, err := photos(ctx, "leaf-"+string(rune('1'+i))+".jpg")
			require.NoError(t, err)
			require.Equal(t, file, data, "the files hold nothing that stripping would take out")
			require.Less(t, len(file), 60<<10)
		}
	}
	queue, err := v.Queue(ctx)
	require.NoError(t, err)
	require.Empty(t, queue)
}

// What the members' history has to show: a step done twice and settled, a fact
// withdrawn, an edit that lost, a plant that came in and stands apart.
func TestHistory(t *testing.T) {
	r, _ := build(t, 1, noon, "UTC")
	lost := 0
	r.Read(func(b *model.Book) {
		_, first, second := coursesOf(t, b)
		by, settled, withdrawn := map[model.TaskKey][]*model.Fact{}, map[model.TaskKey]bool{}, 0
		var applied, apart []*model.Fact
		for _, f := range b.Facts() {
			switch x := f.Body.(type) {
			case *model.Application:
				applied = append(applied, f)
				by[x.Completes] = append(by[x.Completes], f)
			case *model.Settled:
				settled[x.Task] = true
			case *model.Withdrawn:
				withdrawn++
				require.False(t, b.Stands(x.Fact))
			case *model.Handling:
				if x.Kind == model.Isolated {
					apart = append(apart, f)
				}
			}
		}
		require.Len(t, applied, 4)
		step := func(plan *model.PlanAccepted, n uint32) model.TaskKey {
			return model.TaskKey{Rule: model.RuleSpray, Subject: plan.Plan.UUID(), Ordinal: n}
		}
		twice := by[step(first, 1)]
		require.Len(t, twice, 2)
		require.NotEqual(t, twice[0].By, twice[1].By)
		require.Len(t, by[step(second, 1)], 1)
		require.Len(t, by[step(second, 2)], 1)
		require.NotEqual(t, by[step(second, 1)][0].By, by[step(second, 2)][0].By, "the members take turns")
		require.Equal(t, map[model.TaskKey]bool{step(first, 1): true}, settled)
		require.Equal(t, 1, withdrawn)
		require.Len(t, apart, 2, "the plants of the course, and the one that came in")
	})
	for _, ref := range plantRefs(r) {
		lost += len(r.Lost(ref, model.FieldKey{Field: model.PlantNote}))
	}
	require.Equal(t, 1, lost)
}

func plantRefs(r *replica.Replica) []model.Ref {
	var out []model.Ref
	r.Read(func(b *model.Book) {
		for id := range b.Plants {
			out = append(out, model.Ref{Kind: model.KindPlant, ID: id.UUID()})
		}
	})
	return out
}

func TestOpenAgain(t *testing.T) {
	ctx := context.Background()
	r, v := build(t, 1, noon, "UTC")
	want, err := r.Digest()
	require.NoError(t, err)
	again, err := replica.Open(ctx, v, options(2, noon))
	require.NoError(t, err)
	got, err := again.Digest()
	require.NoError(t, err)
	require.Equal(t, want, got)
	require.Equal(t, r.Member(), again.Member())
	require.True(t, again.Local())

	// It is a household like any other: the keeper goes on writing.
	_, err = again.Do(ctx, replica.Set(model.KindHousehold, again.Household(), replica.To(model.HouseholdName, model.Text("Elm"))))
	require.NoError(t, err)
}

func TestDeterminism(t *testing.T) {
	digest := func(seed byte, now model.Instant, zone string) [32]byte {
		r, _ := build(t, seed, now, zone)
		d, err := r.Digest()
		require.NoError(t, err)
		return d
	}
	want := digest(1, noon, "Asia/Kathmandu")
	require.Equal(t, want, digest(1, noon, "Asia/Kathmandu"))
	require.NotEqual(t, want, digest(2, noon, "Asia/Kathmandu"), "another seed, other ids")
	require.NotEqual(t, want, digest(1, noon+86_400_000, "Asia/Kathmandu"), "another day, other dates")
}

func TestWipeLeavesNothing(t *testing.T) {
	ctx := context.Background()
	_, v := build(t, 1, noon, "UTC")
	require.NoError(t, v.Wipe(ctx))
	require.Equal(t, memvault.New(), v)
	_, err := replica.Open(ctx, v, options(1, noon))
	require.ErrorIs(t, err, replica.ErrNobody)
}

func TestBuildLeavesAnotherHouseholdAlone(t *testing.T) {
	ctx, v := context.Background(), memvault.New()
	other, err := replica.Found(ctx, v, options(9, noon), replica.Start{Household: "Elm", Zone: "UTC", Member: "Ash"})
	require.NoError(t, err)
	_, err = sample.Build(ctx, v, options(1, noon), noon, "UTC", photos)
	require.ErrorIs(t, err, replica.ErrTaken)
	id, err := v.Identity(ctx)
	require.NoError(t, err)
	require.Equal(t, other.Household(), id.Household)
}

func TestBuildFailsWhole(t *testing.T) {
	offline := errors.New("offline")
	for name, c := range map[string]struct {
		photos func(context.Context, string) ([]byte, error)
		vault  func(*memvault.Vault) replica.Vault
	}{
		"a photo cannot be fetched": {func(_ context.Context, name string) ([]byte, error) { return nil, offline }, nil},
		"the photos cannot be kept": {photos, func(v *memvault.Vault) replica.Vault { return failing{Vault: v, err: offline} }},
	} {
		t.Run(name, func(t *testing.T) {
			mem := memvault.New()
			var v replica.Vault = mem
			if c.vault != nil {
				v = c.vault(mem)
			}
			_, err := sample.Build(context.Background(), v, options(1, noon), noon, "UTC", c.photos)
			require.ErrorIs(t, err, offline)
			require.Equal(t, memvault.New(), mem)
		})
	}
}
