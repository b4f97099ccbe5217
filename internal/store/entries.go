package store

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// PhoneEntry reads the receipt of an entry; *into stays empty if none was kept.
func PhoneEntry(id uuid.UUID, into *[]gym.PhoneEntry) Reading {
	return many("phone entry", into, `
		SELECT entry_id, kind, sent_by, coalesce(device_id, '00000000-0000-0000-0000-000000000000') AS device_id,
		       body_hash, device_at, offset_ms, received_at
		FROM phone_entry
		WHERE entry_id = @entry`, pgx.StrictNamedArgs{"entry": id})
}

// AddPhoneEntry keeps the receipt of an entry; added is false if there is one
// under that id.
func (tx *Tx) AddPhoneEntry(ctx context.Context, e gym.PhoneEntry) (added bool, err error) {
	n, err := tx.exec(ctx, "keeping a phone's entry", `
		INSERT INTO phone_entry (gym_id, entry_id, kind, sent_by, device_id, body_hash, device_at, offset_ms, received_at)
		VALUES (@gym, @id, @kind, @by, @device, @hash, @device_at, @offset, @at)
		ON CONFLICT (gym_id, entry_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": e.EntryID, "kind": e.Kind, "by": e.SentBy, "device": orNull(e.DeviceID), "hash": e.BodyHash,
			"device_at": e.DeviceAt, "offset": e.OffsetMS, "at": e.ReceivedAt})
	return n == 1, err
}
