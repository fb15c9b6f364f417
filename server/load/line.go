package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http"
	"strconv"
	"time"
)

// line is one connection to the server, over which requests go one after the other.
type line struct {
	conn net.Conn
	in   *bufio.Reader
}

// patience is how long a request may take.
const patience = 60 * time.Second

func dial(address string) (*line, error) {
	conn, err := net.DialTimeout("tcp", address, patience)
	if err != nil {
		return nil, err
	}
	return &line{conn, bufio.NewReaderSize(conn, 4<<10)}, nil
}

// request is what is sent, ready but for the connection.
type request struct {
	method, path, typ string
	phone             *phone // whose token and home address it carries
	last              string // the mark that the phone has
	body              []byte
}

func (q *request) bytes() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s %s HTTP/1.1\r\nHost: load\r\nX-Forwarded-For: %s\r\n", q.method, q.path, q.phone.address)
	if q.phone.token != "" {
		fmt.Fprintf(&b, "Authorization: Bearer %s\r\n", q.phone.token)
	}
	if q.last != "" {
		fmt.Fprintf(&b, "Last-Event-ID: %s\r\n", q.last)
	}
	if q.body != nil {
		fmt.Fprintf(&b, "Content-Type: %s\r\nContent-Length: %d\r\n", q.typ, len(q.body))
	}
	b.WriteString("\r\n")
	b.Write(q.body)
	return b.Bytes()
}

// refused is an answer that is not a success.
type refused struct {
	status int
	body   string
}

func (r *refused) Error() string { return fmt.Sprintf("status %d: %s", r.status, r.body) }

// send sends a request and gives the answer's body.
func (l *line) send(request []byte) ([]byte, error) {
	res, err := l.begin(request)
	if err != nil {
		return nil, err
	}
	body, err := io.ReadAll(res.Body)
	if err == nil && res.StatusCode != http.StatusOK {
		err = &refused{res.StatusCode, string(body)}
	}
	return body, err
}

// begin sends a request and gives the answer when its head is there.
func (l *line) begin(request []byte) (*http.Response, error) {
	if err := l.conn.SetDeadline(time.Now().Add(patience)); err != nil {
		return nil, err
	}
	if _, err := l.conn.Write(request); err != nil {
		return nil, err
	}
	return http.ReadResponse(l.in, nil)
}

// ask is send for answers that are known to have a length and to be wanted as they
// are. It does little more than read, because its time is taken from the server's.
func (l *line) ask(request []byte) ([]byte, error) {
	if _, err := l.conn.Write(request); err != nil {
		return nil, err
	}
	status, err := l.in.ReadSlice('\n')
	if err != nil {
		return nil, err
	}
	ok := bytes.HasPrefix(status, []byte("HTTP/1.1 200 "))
	length := 0
	for {
		header, err := l.in.ReadSlice('\n')
		if err != nil {
			return nil, err
		}
		if len(header) <= 2 {
			break
		}
		if value, found := bytes.CutPrefix(header, []byte("Content-Length: ")); found {
			if length, err = strconv.Atoi(string(bytes.TrimSpace(value))); err != nil {
				return nil, err
			}
		}
	}
	body := make([]byte, length)
	if _, err := io.ReadFull(l.in, body); err != nil {
		return nil, err
	}
	if !ok {
		return nil, &refused{body: string(body)}
	}
	return body, nil
}

// pool lends connections, so that many phones share a bounded number.
type pool struct {
	address string
	lines   chan *line // nil where one has yet to be made
}

func newPool(address string, most int) *pool {
	p := &pool{address, make(chan *line, most)}
	for range most {
		p.lines <- nil
	}
	return p
}

// send sends a request over one of the connections.
func (p *pool) send(request []byte) ([]byte, error) {
	l := <-p.lines
	if l == nil {
		var err error
		if l, err = dial(p.address); err != nil {
			p.lines <- nil
			return nil, err
		}
	}
	body, err := l.send(request)
	if err != nil {
		_ = l.conn.Close()
		l = nil
	}
	p.lines <- l
	return body, err
}

func (p *pool) close() {
	for range cap(p.lines) {
		if l := <-p.lines; l != nil {
			_ = l.conn.Close()
		}
	}
}
