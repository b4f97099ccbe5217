package faults

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"
)

// memory returns how much memory a process has resident, in bytes.
func memory(t *testing.T, pid int) int {
	t.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		var kib int
		if _, err := fmt.Sscanf(line, "VmRSS: %d kB", &kib); err == nil {
			return kib << 10
		}
	}
	t.Fatal("the system does not say how much memory a process has")
	return 0
}

// dial connects to the program as a browser would, without asking anything.
func (p *program) dial() net.Conn {
	p.t.Helper()
	conn, err := net.Dial("tcp", strings.TrimPrefix(p.address, "http://"))
	if err != nil {
		p.t.Fatal(err)
	}
	p.t.Cleanup(func() { _ = conn.Close() })
	return conn
}

const mebibyte = 1 << 20

// Many connections that ask for nothing, half of them having asked once.
func TestManyIdleConnections(t *testing.T) {
	_, p, h := open(t, 3)
	before := memory(t, p.cmd.Process.Pid)
	for i := range idlers {
		conn := p.dial()
		if i%2 == 0 {
			continue
		}
		if _, err := io.WriteString(conn, "GET /healthz HTTP/1.1\r\nHost: hall\r\n\r\n"); err != nil {
			t.Fatal(err)
		}
		if answer, err := http.ReadResponse(bufio.NewReader(conn), nil); err != nil || answer.StatusCode != http.StatusOK {
			t.Fatalf("connection %d: %v", i, err)
		}
	}
	each := (memory(t, p.cmd.Process.Pid) - before) / idlers
	h.insist(t.Context(), newID())
	h.report(t, "idle connections")
	t.Logf("%d idle connections take %d KiB each; others are answered", idlers, each>>10)
	if each > 64<<10 {
		t.Errorf("each takes %d bytes", each)
	}
}

// Some send their request a byte at a time, and some never end it. Others are
// answered meanwhile, and the slow ones are cut off.
func TestSlowSenders(t *testing.T) {
	_, p, h := open(t, 3)
	const senders = 200
	conns := make([]net.Conn, senders)
	for i := range conns {
		conns[i] = p.dial()
		request := "POST /sign-in HTTP/1.1\r\nHost: hall\r\nContent-Length: 1000000\r\nContent-Type: application/x-www-form-urlencoded\r\n\r\nname="
		if i%2 == 0 {
			request = "GET /sign-in HTTP/1.1\r\nHost: ha"
		}
		if _, err := io.WriteString(conns[i], request); err != nil {
			t.Fatal(err)
		}
	}
	for range 20 {
		h.insist(t.Context(), newID())
	}
	before := memory(t, p.cmd.Process.Pid)
	// The header must have come within ten seconds.
	if err := conns[0].SetReadDeadline(time.Now().Add(patience)); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	if _, err := io.Copy(io.Discard, conns[0]); err != nil {
		t.Errorf("who never ends a header is not cut off: %v", err)
	}
	h.report(t, "slow senders")
	t.Logf("%d slow senders: others answered, %d MiB in use, an endless header was cut off after %.1f s", senders, before/mebibyte, time.Since(began).Seconds())
}

// Bodies far beyond any form are refused and not kept in memory.
func TestHugeBodies(t *testing.T) {
	_, p, h := open(t, 3)
	const size = 50 * mebibyte
	before := memory(t, p.cmd.Process.Pid)
	for _, test := range []struct {
		path, contentType string
		told              bool // the size is told beforehand
	}{
		{"/athletes/" + h.athletes[0].String() + "/tests", "application/x-www-form-urlencoded", false},
		{"/athletes/" + h.athletes[0].String() + "/tests", "application/x-www-form-urlencoded", true},
		{"/sign-in", "application/x-www-form-urlencoded", false},
		{"/sign-in", "multipart/form-data; boundary=b", false},
		{"/me/outbox", "application/json", true},
	} {
		body := io.MultiReader(strings.NewReader("rotations="), bytes.NewReader(bytes.Repeat([]byte("7"), size)))
		request, err := http.NewRequest(http.MethodPost, p.address+test.path, body)
		if err != nil {
			t.Fatal(err)
		}
		request.Header.Set("Content-Type", test.contentType)
		if test.told {
			request.ContentLength = size + int64(len("rotations="))
		}
		status, _ := h.send(request, h.coach) // it may be cut off before it reads the answer
		if status >= 500 || status == http.StatusSeeOther {
			t.Errorf("50 MiB as %s to %s: %d", test.contentType, test.path, status)
		}
		if test.told && status != http.StatusRequestEntityTooLarge {
			t.Errorf("50 MiB, told beforehand, to %s: %d", test.path, status)
		}
		t.Logf("50 MiB as %s to %s: status %d", test.contentType, test.path, status)
	}
	grown := memory(t, p.cmd.Process.Pid) - before
	h.insist(t.Context(), newID())
	h.report(t, "huge bodies")
	t.Logf("the program grew by %d MiB", grown/mebibyte)
	if grown > size {
		t.Errorf("the program grew by %d MiB", grown/mebibyte)
	}
}
