package store

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const selectClass = `
	SELECT class_id, name, code, created_at, archived_at,
	       (SELECT count(*) FROM enrolment e
	        WHERE e.gym_id = class.gym_id AND e.class_id = class.class_id AND e.until IS NULL)::int AS athletes
	FROM class`

// Classes reads the classes that are not archived, by name.
func Classes(into *[]gym.Class) Reading {
	return many("classes", into, selectClass+`
		WHERE archived_at IS NULL
		ORDER BY name_key, class_id`, pgx.StrictNamedArgs{})
}

// Class reads one class.
func Class(id uuid.UUID, into *gym.Class) Reading {
	return one("class", "There is no such class in this gym.", into, selectClass+`
		WHERE class_id = @class`, pgx.StrictNamedArgs{"class": id})
}

// ClassTimes reads every weekly meeting, in the week's order.
func ClassTimes(into *[]gym.ClassTime) Reading {
	return many("class times", into, `
		SELECT class_id, weekday, (extract(epoch FROM starts_at) * 1000000000)::bigint AS starts_at, minutes
		FROM class_time
		ORDER BY weekday, class_time.starts_at, class_id`, pgx.StrictNamedArgs{})
}

// AddClass adds a class and its code, which is looked up by codeKey. A taken
// name or code is a Conflict.
func (tx *Tx) AddClass(ctx context.Context, c gym.Class, nameKey, codeKey string) error {
	_, err := tx.exec(ctx, "adding a class", `
		INSERT INTO class (gym_id, class_id, name, name_key, code, created_at)
		VALUES (@gym, @id, @name, @key, @code, @at)`,
		pgx.StrictNamedArgs{"id": c.ClassID, "name": c.Name, "key": nameKey, "code": c.Code, "at": c.CreatedAt})
	if broke(err, "class_gym_id_name_key_key") {
		return problem.Wrap(err, problem.Conflict, "There is a class with that name already. Choose another name.")
	}
	if err != nil {
		return err
	}
	_, err = tx.exec(ctx, "keeping a class code", `
		INSERT INTO class_code (code, gym_id, class_id) VALUES (@code, @gym, @id)`,
		pgx.StrictNamedArgs{"code": codeKey, "id": c.ClassID})
	if broke(err, "class_code_pkey") {
		return problem.Wrap(err, problem.Conflict, "That class code is taken. Try once more.")
	}
	return err
}

// RenameClass gives a class another name; a taken one is a Conflict.
func (tx *Tx) RenameClass(ctx context.Context, class uuid.UUID, name, nameKey string) error {
	n, err := tx.exec(ctx, "renaming a class", `
		UPDATE class SET name = @name, name_key = @key
		WHERE gym_id = @gym AND class_id = @class`, pgx.StrictNamedArgs{"class": class, "name": name, "key": nameKey})
	if broke(err, "class_gym_id_name_key_key") {
		return problem.Wrap(err, problem.Conflict, "There is a class with that name already. Choose another name.")
	}
	return noneIs(n, err, "There is no such class in this gym.")
}

// SetClassTimes replaces the weekly meetings of a class.
func (tx *Tx) SetClassTimes(ctx context.Context, class uuid.UUID, times []gym.ClassTime) error {
	if _, err := tx.exec(ctx, "clearing class times", `DELETE FROM class_time WHERE gym_id = @gym AND class_id = @class`,
		pgx.StrictNamedArgs{"class": class}); err != nil {
		return err
	}
	for _, t := range times {
		if _, err := tx.exec(ctx, "adding a class time", `
			INSERT INTO class_time (gym_id, class_id, weekday, starts_at, minutes)
			VALUES (@gym, @class, @weekday, time '00:00' + make_interval(secs => @starts), @minutes)`,
			pgx.StrictNamedArgs{"class": class, "weekday": t.Weekday, "starts": t.StartsAt.Seconds(), "minutes": t.Minutes}); err != nil {
			return err
		}
	}
	return nil
}

// ClassByCode returns the gym and class behind a typed code; found is false if
// there is none.
func (s *Store) ClassByCode(ctx context.Context, code string) (gymID, class uuid.UUID, found bool, err error) {
	return s.behind(ctx, "class by code", `SELECT gym_id, class_id FROM class_code WHERE code = $1`, code)
}
