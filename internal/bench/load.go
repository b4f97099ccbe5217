package bench

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"
)

// A Load is what the load generator is to do. It is a process of its own, so
// that its work is not the server's, and speaks HTTP/1.1 itself over connections
// that it keeps: a whole HTTP client would cost as much as some pages.
type Load struct {
	Address     string        // host:port
	Requests    []Request     // taken by turns, each connection beginning at another one
	Connections int           // at once
	For         time.Duration // how long; 0: each connection sends Times requests
	Times       int
	Want        int // status of every answer
}

// A Request is one request. In its path and body $id stands for a fresh id each
// time and $n for a number from 60 to 99.
type Request struct {
	Method, Path, Cookie, Body string
}

// Measured is what a load came to.
type Measured struct {
	Answers int
	Bytes   int64           // of all answers
	Took    time.Duration   // all together
	Each    []time.Duration // by rising length
}

// PerSecond is how many answers came each second.
func (m Measured) PerSecond() float64 { return float64(m.Answers) / m.Took.Seconds() }

// Median is the middle of the times that one request took.
func (m Measured) Median() time.Duration { return m.Each[len(m.Each)/2] }

// generate does the load read from in and writes to out what it came to.
func generate(in io.Reader, out io.Writer) error {
	var load Load
	if err := json.NewDecoder(in).Decode(&load); err != nil {
		return fmt.Errorf("reading the load: %w", err)
	}
	measured, err := load.run()
	if err != nil {
		return err
	}
	return json.NewEncoder(out).Encode(measured)
}

func (l Load) run() (Measured, error) {
	var all Measured
	var mu sync.Mutex
	var firstErr error
	var working sync.WaitGroup
	began := time.Now()
	for n := range l.Connections {
		working.Go(func() {
			one, err := l.connection(n, began)
			mu.Lock()
			defer mu.Unlock()
			if err != nil && firstErr == nil {
				firstErr = err
			}
			all.Answers += one.Answers
			all.Bytes += one.Bytes
			all.Each = append(all.Each, one.Each...)
		})
	}
	working.Wait()
	all.Took = time.Since(began)
	slices.Sort(all.Each)
	return all, firstErr
}

// connection sends one request after the other over one connection.
func (l Load) connection(number int, began time.Time) (Measured, error) {
	var m Measured
	conn, err := net.Dial("tcp", l.Address)
	if err != nil {
		return m, fmt.Errorf("connecting: %w", err)
	}
	defer conn.Close()
	answers := bufio.NewReaderSize(conn, 64<<10)
	var raw bytes.Buffer
	for n := 0; l.For > 0 && time.Since(began) < l.For || n < l.Times; n++ {
		raw.Reset()
		l.Requests[(number+n)%len(l.Requests)].write(&raw, l.Address)
		sent := time.Now()
		if _, err := conn.Write(raw.Bytes()); err != nil {
			return m, fmt.Errorf("sending: %w", err)
		}
		answer, err := http.ReadResponse(answers, nil)
		if err != nil {
			return m, fmt.Errorf("reading an answer: %w", err)
		}
		if answer.StatusCode != l.Want {
			said, _ := io.ReadAll(io.LimitReader(answer.Body, 300))
			return m, fmt.Errorf("the answer to %s is %s, not %d: %s", l.Requests[(number+n)%len(l.Requests)].Path, answer.Status, l.Want, said)
		}
		size, err := io.Copy(io.Discard, answer.Body)
		if err != nil {
			return m, fmt.Errorf("reading an answer: %w", err)
		}
		m.Answers++
		m.Bytes += size
		m.Each = append(m.Each, time.Since(sent))
	}
	return m, nil
}

func (r Request) write(to *bytes.Buffer, host string) {
	fresh := strings.NewReplacer("$id", uuid.Must(uuid.NewV7()).String(), "$n", strconv.Itoa(60+rand.IntN(40)))
	path, body := fresh.Replace(r.Path), fresh.Replace(r.Body)
	fmt.Fprintf(to, "%s %s HTTP/1.1\r\nHost: %s\r\nCookie: %s\r\nSec-Fetch-Site: same-origin\r\n", r.Method, path, host, r.Cookie)
	if r.Method == http.MethodPost {
		fmt.Fprintf(to, "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: %d\r\n", len(body))
	}
	to.WriteString("\r\n")
	to.WriteString(body)
}
