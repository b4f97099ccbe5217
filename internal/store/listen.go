package store

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgxlisten"
)

// channel carries what changed, to every replica.
const channel = "ropewalk_changed"

// A Changed says that something about a session or an athlete is other than
// before. The zero Changed says that anything may be: the listener was away.
type Changed struct {
	Gym     uuid.UUID
	Subject uuid.UUID // of a session, an athlete or a link
}

// announce marks what the transaction changes, to be told after its commit.
func (tx *Tx) announce(subject uuid.UUID) {
	tx.changed = append(tx.changed, Changed{tx.gym, subject})
}

// A crier tells listeners what changed, on this and other replicas. It speaks
// after the commit, in a statement of its own: NOTIFY inside of writing
// transactions lets only one of them commit at a time. What it says is lost if
// the program dies in between; listeners look for themselves now and then.
type crier struct {
	mu      sync.Mutex
	pending map[Changed]bool
	crying  bool
}

// tell passes changes on soon, once each.
func (c *crier) tell(pool *pgxpool.Pool, changes []Changed) {
	if len(changes) == 0 {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.pending == nil {
		c.pending = map[Changed]bool{}
	}
	for _, change := range changes {
		c.pending[change] = true
	}
	if !c.crying {
		c.crying = true
		go c.cry(pool)
	}
}

// cryWithin bounds one statement of the crier, and mostCries how often it says
// the same: on a busy or restarting database the first may go unheard. Listeners
// that lost their connection look for themselves when they have it again. The
// first change is told at once, what comes within cryEvery is told together.
const (
	cryEvery  = 20 * time.Millisecond
	cryWithin = 5 * time.Second
	cryAgain  = 200 * time.Millisecond
	mostCries = 5
)

func (c *crier) cry(pool *pgxpool.Pool) {
	unheard := 0
	for {
		c.mu.Lock()
		if len(c.pending) == 0 {
			c.crying = false
			c.mu.Unlock()
			return
		}
		var payloads []string
		changes := slices.Collect(maps.Keys(c.pending))
		for _, change := range changes {
			payloads = append(payloads, change.Gym.String()+" "+change.Subject.String())
		}
		clear(c.pending)
		c.mu.Unlock()
		ctx, cancel := context.WithTimeout(context.Background(), cryWithin)
		_, err := pool.Exec(ctx, `SELECT pg_notify($1, u.payload) FROM unnest($2::text[]) AS u (payload)`, channel, payloads)
		cancel()
		if unheard++; err == nil || unheard == mostCries {
			unheard = 0
			time.Sleep(cryEvery)
			continue
		}
		c.mu.Lock()
		for _, change := range changes {
			c.pending[change] = true
		}
		c.mu.Unlock()
		time.Sleep(cryAgain)
	}
}

// Listen calls changed for whatever is announced on any replica, until ctx ends.
// After every connect it calls changed with the zero Changed. trouble hears of
// lost connections; they are made again. changed must not block.
func (s *Store) Listen(ctx context.Context, changed func(Changed), trouble func(error)) {
	listener := pgxlisten.Listener{
		Connect: func(ctx context.Context) (*pgx.Conn, error) {
			return pgx.ConnectConfig(ctx, s.direct.Copy())
		},
		LogError: func(ctx context.Context, err error) {
			if ctx.Err() == nil {
				trouble(err)
			}
		},
		ReconnectDelay: time.Second,
	}
	listener.Handle(channel, ear(changed))
	if err := listener.Listen(ctx); err != nil && !errors.Is(err, context.Canceled) {
		trouble(err)
	}
}

// An ear reads notifications.
type ear func(Changed)

// HandleNotification implements pgxlisten.Handler. What cannot be read is
// taken for "anything may have changed".
func (e ear) HandleNotification(_ context.Context, n *pgconn.Notification, _ *pgx.Conn) error {
	gymID, subject, _ := strings.Cut(n.Payload, " ")
	parsedGym, err := uuid.Parse(gymID)
	if err != nil {
		e(Changed{})
		return nil
	}
	parsedSubject, err := uuid.Parse(subject)
	if err != nil {
		e(Changed{})
		return nil
	}
	e(Changed{parsedGym, parsedSubject})
	return nil
}

// HandleBacklog implements pgxlisten.BacklogHandler: nobody listened for a while.
func (e ear) HandleBacklog(context.Context, string, *pgx.Conn) error {
	e(Changed{})
	return nil
}
