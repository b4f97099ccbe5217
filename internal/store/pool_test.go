package store_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"pgregory.net/rapid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// A guard looks at every connection that the pool hands out: no gym may be
// named on it yet.
type guard struct {
	mu     sync.Mutex
	handed int
	left   []string
}

func (g *guard) tune(config *pgxpool.Config) {
	config.MaxConns = 4
	config.PrepareConn = func(ctx context.Context, conn *pgx.Conn) (bool, error) {
		var named string
		err := conn.QueryRow(ctx, `SELECT coalesce(current_setting('ropewalk.gym', true), '') || coalesce(current_setting('ropewalk.person', true), '')`).Scan(&named)
		g.mu.Lock()
		defer g.mu.Unlock()
		g.handed++
		if named != "" {
			g.left = append(g.left, named)
		}
		return err == nil, err
	}
}

func (g *guard) check(t interface{ Errorf(string, ...any) }) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.handed == 0 || len(g.left) > 0 {
		t.Errorf("%d connections were handed out, %d of them with a gym named: %v", g.handed, len(g.left), g.left)
	}
}

var errBroken = errors.New("broken off")

// ways are the ways in which a piece of work with a gym named may end.
func ways(st *store.Store) map[string]func(ctx context.Context, gymID uuid.UUID) {
	var into []gym.Class
	return map[string]func(ctx context.Context, gymID uuid.UUID){
		"read": func(ctx context.Context, gymID uuid.UUID) { _ = st.Read(ctx, gymID, store.Classes(&into)) },
		"read without a row": func(ctx context.Context, gymID uuid.UUID) {
			var athlete gym.Athlete
			_ = st.Read(ctx, gymID, store.Athlete(uuid.New(), &athlete), store.Classes(&into))
		},
		"memberships": func(ctx context.Context, gymID uuid.UUID) { _, _ = st.MembershipsOf(ctx, gymID) },
		"commit": func(ctx context.Context, gymID uuid.UUID) {
			_ = st.Write(ctx, gymID, func(tx *store.Tx) error { return tx.Read(ctx, store.Classes(&into)) })
		},
		"rollback": func(ctx context.Context, gymID uuid.UUID) {
			_ = st.Write(ctx, gymID, func(*store.Tx) error { return errBroken })
		},
		"database error": func(ctx context.Context, gymID uuid.UUID) {
			_ = st.Write(ctx, gymID, func(tx *store.Tx) error { // no such athlete: a foreign key
				_, err := tx.Enrol(ctx, uuid.New(), []uuid.UUID{uuid.New()}, today)
				return err
			})
		},
		"panic": func(ctx context.Context, gymID uuid.UUID) {
			defer func() { _ = recover() }()
			_ = st.Write(ctx, gymID, func(*store.Tx) error { panic("on purpose") })
		},
		"cancelled": func(ctx context.Context, gymID uuid.UUID) {
			ctx, cancel := context.WithCancel(ctx)
			_ = st.Write(ctx, gymID, func(tx *store.Tx) error {
				cancel()
				return tx.Read(ctx, store.Classes(&into))
			})
		},
		"statement timeout": func(ctx context.Context, gymID uuid.UUID) {
			_ = st.Read(ctx, gymID, func(batch *pgx.Batch) {
				batch.Queue(`SELECT set_config('statement_timeout', '1', true)`)
				batch.Queue(`SELECT pg_sleep(1)`)
			})
		},
	}
}

func TestNoGymStaysNamedOnAConnection(t *testing.T) {
	g := &guard{}
	b := open(t, g.tune, func(c *pgxpool.Config) { c.MaxConns = 1 })
	for name, way := range ways(b.Store) {
		t.Run(name, func(t *testing.T) {
			way(t.Context(), gymA)
			ways(b.Store)["read"](t.Context(), gymB)
			g.check(t)
		})
	}
}

// Any work in any order, of many gyms at once on few connections, sees its own
// gym's class and leaves no name behind.
func TestConnectionsAreSharedSafely(t *testing.T) {
	g := &guard{}
	b := open(t, g.tune)
	gyms := make([]uuid.UUID, 50)
	for i := range gyms {
		gyms[i] = uuid.New()
		b.write(gyms[i], func(tx *store.Tx) error {
			if err := tx.AddGym(t.Context(), gym.Gym{Name: "Hall", TimeZone: "UTC", CreatedAt: now}); err != nil {
				return err
			}
			return tx.AddClass(t.Context(), gym.Class{ClassID: class, Name: gyms[i].String(), CreatedAt: now}, "class", fmt.Sprint("CODE", i))
		})
	}
	var names []string
	for name := range ways(nil) {
		if name != "statement timeout" { // waits for its millisecond
			names = append(names, name)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		var all sync.WaitGroup
		for range 4 {
			steps := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) [2]int {
				return [2]int{rapid.IntRange(0, len(gyms)-1).Draw(t, "gym"), rapid.IntRange(0, len(names)-1).Draw(t, "way")}
			}), 1, 8).Draw(t, "steps")
			all.Go(func() {
				for _, step := range steps {
					gymID := gyms[step[0]]
					ways(b.Store)[names[step[1]]](context.Background(), gymID)
					var seen []gym.Class
					if err := b.Read(context.Background(), gymID, store.Classes(&seen)); err != nil || len(seen) != 1 || seen[0].Name != gymID.String() {
						t.Errorf("gym %v sees %v, %v", gymID, seen, err)
					}
				}
			})
		}
		all.Wait()
	})
	g.check(t)
}

func TestAPanicIsPassedOnAndNothingIsKept(t *testing.T) {
	b := open(t)
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic was swallowed")
			}
		}()
		_ = b.Write(t.Context(), gymA, func(tx *store.Tx) error {
			if err := tx.AddGym(t.Context(), gym.Gym{Name: "Hall", TimeZone: "UTC", CreatedAt: now}); err != nil {
				return err
			}
			panic("on purpose")
		})
	}()
	if n := ask[int](t, b.owner, `SELECT count(*) FROM gym`); n != 0 {
		t.Errorf("%d gyms are kept after a panic", n)
	}
}

func TestDatabaseAwayIsUnavailable(t *testing.T) {
	b := open(t)
	b.fill()
	b.read(gymA)
	b.ownerDoes(`SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = $1 AND datname = current_database()`, store.AppRole)
	var g gym.Gym
	err := b.Read(t.Context(), gymA, store.TheGym(&g))
	if err != nil && problem.KindOf(err) != problem.Unavailable {
		t.Errorf("a cut connection is %v, want Unavailable or a fresh connection", err)
	}
	b.read(gymA, store.TheGym(&g)) // the pool has healed

	gone, err := store.Open(t.Context(), "postgres://ropewalk_app@127.0.0.1:1/none?connect_timeout=2")
	if err != nil {
		t.Fatal(err)
	}
	defer gone.Close()
	if err := gone.Read(t.Context(), gymA, store.TheGym(&g)); problem.KindOf(err) != problem.Unavailable {
		t.Errorf("no server: %v, want Unavailable", err)
	}
	if err := gone.Ping(t.Context()); problem.KindOf(err) != problem.Unavailable {
		t.Errorf("ping without a server: %v, want Unavailable", err)
	}
}
