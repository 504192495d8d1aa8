package ask

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"

	"samelift/internal/care"
)

// maxLine bounds one line of JSON; a longer one is answered with an error.
const maxLine = 64 << 10

type lineIn struct {
	ID   json.RawMessage `json:"id"`
	Lang string          `json:"lang"`
	Text *string         `json:"text"`
}

type lineOut struct {
	ID         json.RawMessage `json:"id"`
	Client     *string         `json:"client"`
	Candidates []string        `json:"candidates"`
	Unknown    *string         `json:"unknown_name"`
	From       *care.Place     `json:"from"`
	To         *care.Place     `json:"to"`
	Topics     []Topic         `json:"topics"`
	Emergency  bool            `json:"emergency"`
}

type lineError struct {
	ID    json.RawMessage `json:"id,omitempty"`
	Error string          `json:"error"`
}

// Lines reads one JSON object a line, {"id","lang","text"}, and writes one a line in the
// same order, each message on its own. What was not said is null. A malformed line is
// answered with {"error"} and the rest goes on; only reading or writing itself can fail.
func Lines(r *Reader, in io.Reader, out io.Writer) error {
	br := bufio.NewReaderSize(in, 16<<10)
	bw := bufio.NewWriter(out)
	enc := json.NewEncoder(bw)
	enc.SetEscapeHTML(false)
	for {
		line, long, err := readLine(br)
		if err != nil && !errors.Is(err, io.EOF) {
			_ = bw.Flush()
			return err
		}
		end := err != nil
		if line = bytes.TrimSpace(line); long || len(line) > 0 {
			if err := enc.Encode(answer(r, line, long)); err != nil {
				return err
			}
		}
		if end {
			return bw.Flush()
		}
		if br.Buffered() == 0 {
			if err := bw.Flush(); err != nil {
				return err
			}
		}
	}
}

// readLine reads to the end of a line, keeping no more than maxLine of it.
func readLine(br *bufio.Reader) (line []byte, long bool, err error) {
	for {
		part, err := br.ReadSlice('\n')
		if len(line)+len(part) > maxLine {
			long = true
		} else {
			line = append(line, part...)
		}
		if errors.Is(err, bufio.ErrBufferFull) {
			continue
		}
		return line, long, err
	}
}

func answer(r *Reader, line []byte, long bool) any {
	if long {
		return lineError{Error: "the line is too long"}
	}
	var in lineIn
	if err := json.Unmarshal(line, &in); err != nil {
		return lineError{ID: in.ID, Error: "the line is not a JSON object with id, lang and text"}
	}
	if in.Text == nil {
		return lineError{ID: in.ID, Error: "the line has no text"}
	}
	x := r.Read(*in.Text, in.Lang)
	o := lineOut{ID: in.ID, Candidates: x.Candidates, Topics: x.Topics, Emergency: x.Emergency}
	if len(o.ID) == 0 {
		o.ID = json.RawMessage("null")
	}
	if o.Candidates == nil {
		o.Candidates = []string{}
	}
	if x.Client != "" {
		o.Client = &x.Client
	}
	if x.UnknownName != "" {
		o.Unknown = &x.UnknownName
	}
	if x.From != "" {
		o.From = &x.From
	}
	if x.To != "" {
		o.To = &x.To
	}
	return o
}
