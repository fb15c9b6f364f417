package app

import (
	"context"
	"fmt"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/model/plan"
)

// fighter is a phone in a household with aphids on one plant, and an invented soap.
func fighter(t *testing.T) (p *phone, outbreak string) {
	p = beginner(t)
	fern := p.plant("Fern")
	p.do(screens.ActAddProduct, "name", "Invented soap", "means", "1", "unit", "2", "rate", "20", "perplant", "100", "stock", "4",
		"interval", "5", "season", "12", "pests", "thrips, aphids", "cautions", "For houseplants.")
	p.do(screens.ActSaveFinding, "plant", fern, "part", "1", "sign", "16", "count1", "5", "count3", "2")
	p.do(screens.ActOpenOutbreak, "plant", fern, "pest", "3")
	return p, p.value(`data-outbreak="([0-9a-f-]{36})"`)
}

// ruling is the plan that an outbreak follows.
func (p *phone) ruling(outbreak string) *model.PlanAccepted {
	var out *model.PlanAccepted
	id, err := model.ParseID[model.Outbreak](outbreak)
	require.NoError(p.t, err)
	p.house.Read(func(b *model.Book) {
		if all := b.Plans(id); len(all) > 0 {
			out = all[len(all)-1].Body.(*model.PlanAccepted)
		}
	})
	return out
}

func TestPlansAreFoundOnThePhoneAndTaken(t *testing.T) {
	p, outbreak := fighter(t)
	p.link.out = true
	words := p.App.t.Plans
	require.Contains(t, p.main(), screens.PlansRoute(outbreak), "the outbreak leads to its plans")

	shown := 0
	answer := p.Go(context.Background(), screens.PlansRoute(outbreak))
	answer.Work(func(do func(context.Context) Answer) {
		shown++
		p.show(do(context.Background()))
	})
	require.Greater(t, shown, 4, "progress is told")
	page := p.page[screens.IDPlans]
	for _, title := range []string{words.Fewest, words.Soonest, words.NoChem} {
		require.Contains(t, page, title)
	}
	id, err := model.ParseID[model.Outbreak](outbreak)
	require.NoError(t, err)
	fewest := p.plannings[id].found.Options[0]
	require.Contains(t, page, fmt.Sprintf("%d ml of Invented soap", 2*fewest.Sprays), "20 ml a litre, 100 ml each time")
	require.Contains(t, page, "more by", "four are on the shelf")
	require.Contains(t, page, "Why: ")
	require.Contains(t, page, words.Accept)

	p.do(screens.ActAcceptPlan, "outbreak", outbreak, "option", strconv.Itoa(int(plan.FewestSprays)))
	taken := p.ruling(outbreak)
	require.NotNil(t, taken)
	require.Equal(t, model.FewestSprays, taken.Aim)
	require.Equal(t, 950, taken.Target)
	require.GreaterOrEqual(t, taken.Chance, 950)
	require.NotZero(t, taken.Seed)
	for _, s := range taken.Steps {
		require.NotEmpty(t, s.Why)
	}
	require.Contains(t, p.main(), p.App.t.Plans.Why(taken.Steps[0].Why[0], "Invented soap"), "the calendar says why")
	require.NotContains(t, p.main(), words.ProposalTitle, "a plan that was just taken stands")
	require.Contains(t, p.open(screens.PlansRoute(outbreak)), words.Accepted)
}

func TestTakenPlanIsTakenBackInOneTap(t *testing.T) {
	p, outbreak := fighter(t)
	p.open(screens.PlansRoute(outbreak))
	answer := p.do(screens.ActAcceptPlan, "outbreak", outbreak, "option", "1")
	require.NotNil(t, answer.Undo)
	p.do(screens.ActUndo, "id", answer.Undo.ID)
	require.Nil(t, p.ruling(outbreak))
}

func TestPlansFollowWhatTheHouseholdChose(t *testing.T) {
	p, outbreak := fighter(t)
	p.open(screens.PlansRoute(outbreak))
	p.do(screens.ActPlanChoices, "outbreak", outbreak, "nochemicals", "1", "pets", "1")
	page := p.page[screens.IDPlans]
	require.NotContains(t, page, p.App.t.Plans.Fewest)
	require.Contains(t, page, p.App.t.Plans.NoChem)
	require.Contains(t, page, p.App.t.Plans.Refused("Invented soap", plan.WishNoChemical, ""))
	p.house.Read(func(b *model.Book) {
		require.True(t, b.Household.NoChemicals)
		require.True(t, b.Household.Pets)
		require.False(t, b.Household.Children)
	})
}

func TestSearchForPlansIsStopped(t *testing.T) {
	p, outbreak := fighter(t)
	answer := p.Go(context.Background(), screens.PlansRoute(outbreak))
	p.show(Answer{Swaps: answer.Swaps})
	require.Contains(t, p.main(), p.App.t.Plans.Working)
	told := 0
	answer.Work(func(do func(context.Context) Answer) {
		if told++; told == 3 {
			p.do(screens.ActStopPlans, "outbreak", outbreak)
		}
		p.show(do(context.Background()))
	})
	require.Contains(t, p.page[screens.IDPlans], p.App.t.Plans.Stopped)
	require.Less(t, told, 20, "it does not go on after it was stopped")
	p.do(screens.ActWorkOut, "outbreak", outbreak)
	require.Contains(t, p.page[screens.IDPlans], p.App.t.Plans.Fewest)
}

// Worse counts than the plan was made for make the phone propose another one.
func TestWorseCountsProposeAChange(t *testing.T) {
	p, outbreak := fighter(t)
	p.open(screens.PlansRoute(outbreak))
	p.do(screens.ActAcceptPlan, "outbreak", outbreak, "option", "1")
	p.w.pass(day)
	p.do(screens.ActSaveFinding, "plant", p.plant("Fern"), "part", "1", "sign", "2", "count1", "90", "count3", "40")
	page := p.open(screens.OutbreakRoute(outbreak))
	require.Contains(t, page, p.App.t.Plans.ProposalTitle)
	require.Contains(t, page, fmt.Sprintf("%d animals were counted", 130))
	require.Contains(t, page, screens.PlansRoute(outbreak))
}
