package work

import (
	"slices"

	"github.com/google/uuid"
)

// turns is a queue in which shops take turns, and the work of one shop keeps
// its order.
type turns[T comparable] struct {
	shops   []uuid.UUID // that have work waiting, the next one first
	waiting map[uuid.UUID][]T
}

func (t *turns[T]) empty() bool { return len(t.shops) == 0 }

func (t *turns[T]) push(shop uuid.UUID, w T) {
	if t.waiting == nil {
		t.waiting = map[uuid.UUID][]T{}
	}
	if len(t.waiting[shop]) == 0 {
		t.shops = append(t.shops, shop)
	}
	t.waiting[shop] = append(t.waiting[shop], w)
}

// pushFirst adds work that is to go before the other work of its shop, when the
// shop's turn comes again.
func (t *turns[T]) pushFirst(shop uuid.UUID, w T) {
	t.push(shop, w)
	all := t.waiting[shop]
	copy(all[1:], all)
	all[0] = w
}

// has reports whether work of a shop waits.
func (t *turns[T]) has(shop uuid.UUID) bool { return len(t.waiting[shop]) > 0 }

// first returns what pop takes next.
func (t *turns[T]) first() T { return t.waiting[t.shops[0]][0] }

// pop takes the first of the shop whose turn it is, which then goes to the end.
func (t *turns[T]) pop() T {
	shop := t.shops[0]
	w := t.waiting[shop][0]
	t.shops = t.shops[1:]
	if t.waiting[shop] = t.waiting[shop][1:]; len(t.waiting[shop]) > 0 {
		t.shops = append(t.shops, shop)
	} else {
		delete(t.waiting, shop)
	}
	return w
}

// remove takes out one that waits no longer, and reports whether it waited.
func (t *turns[T]) remove(shop uuid.UUID, w T) bool {
	i := slices.Index(t.waiting[shop], w)
	if i < 0 {
		return false
	}
	if t.waiting[shop] = slices.Delete(t.waiting[shop], i, i+1); len(t.waiting[shop]) == 0 {
		delete(t.waiting, shop)
		t.shops = slices.DeleteFunc(t.shops, func(id uuid.UUID) bool { return id == shop })
	}
	return true
}
