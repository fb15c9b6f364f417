package app

import (
	"context"
	"strconv"

	"leafturn/client-sdk/replica"
	"leafturn/model"
)

// UndoSeconds is how long an action can be taken back with one tap. Afterwards a
// fact can still be withdrawn, and a field set again.
const UndoSeconds = 10

// undos holds how to take back the last few actions, by the number that travelled
// with the answer.
type undos struct {
	next int
	by   map[string]undo
}

type undo struct {
	ops   []any
	route string // the screen that showed the action
}

func (a *App) remember(u undo) *Undo {
	if a.undos.by == nil {
		a.undos.by = map[string]undo{}
	}
	a.undos.next++
	key := strconv.Itoa(a.undos.next)
	a.undos.by[key] = u
	delete(a.undos.by, strconv.Itoa(a.undos.next-20))
	return &Undo{Label: a.t.Common.Undo, ID: key}
}

// undoFacts offers to withdraw facts, and to do more besides.
func (a *App) undoFacts(ids []model.FactID, more ...any) *Undo {
	var ops []any
	for _, f := range ids {
		stands := false
		a.house.Read(func(b *model.Book) { _, stands = b.Fact(f) })
		if stands {
			ops = append(ops, replica.Seen(&model.Withdrawn{Fact: f}))
		}
	}
	return a.remember(undo{ops: append(ops, more...), route: a.route})
}

// undoBy offers to do operations that bring back what was before.
func (a *App) undoBy(ops ...any) *Undo { return a.remember(undo{ops: ops, route: a.route}) }

func (a *App) undo(ctx context.Context, e Event) Answer {
	key := e.Data.Get("id")
	u, ok := a.undos.by[key]
	if !ok {
		return Answer{}
	}
	if _, failed := a.write(ctx, u.ops...); failed != nil {
		return *failed
	}
	delete(a.undos.by, key)
	a.after = nil
	answer := a.Go(ctx, u.route)
	answer.Go, answer.Say = u.route, a.t.Say.Undone
	return answer
}
