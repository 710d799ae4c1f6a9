package sms

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// How long a part waits for the others; how long a text put together is remembered, so
// that a part delivered again is no new text; how often is looked; how many long texts
// may wait at once; and the most parts of one (3GPP TS 23.040, clause 9.2.3.24.1: the
// count is one octet).
const (
	partsWait  = 5 * time.Minute
	partsKnown = time.Hour
	partsLook  = 15 * time.Second
	partsKept  = 1000
	mostParts  = 255
)

// parts are those of long texts that wait for the others. A gateway is told that a part
// was taken once it is on the disk: it need not keep it, may deliver the parts one after
// another or at once, and nothing is lost when we stop in between. What was put
// together is handed over under an id made of its parts' ids, so that a second time
// changes nothing.
type parts struct {
	folder string
	now    func() time.Time

	mu   sync.Mutex
	sets map[string]*set
}

// set is one long text: a file of its own.
type set struct {
	Name  string          `json:"name"`
	First time.Time       `json:"first"` // when the first part came, by our clock
	Of    int             `json:"of"`
	Parts map[int]segment `json:"parts,omitempty"`
	// Handed: it is in the record, and Seen are the parts of it.
	Handed bool     `json:"handed,omitempty"`
	Seen   []string `json:"seen,omitempty"`
}

// openParts reads what waited when we stopped.
func openParts(folder string, now func() time.Time) (*parts, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, fmt.Errorf("making the folder for parts of texts: %w", err)
	}
	p := &parts{folder: folder, now: now, sets: map[string]*set{}}
	files, err := os.ReadDir(folder)
	if err != nil {
		return nil, fmt.Errorf("reading the folder for parts of texts: %w", err)
	}
	for _, f := range files {
		path := filepath.Join(folder, f.Name())
		switch filepath.Ext(path) {
		case ".json":
			s, err := readSet(path)
			if err != nil {
				return nil, err
			}
			p.sets[s.Name] = s
		case ".new": // begun and not finished, so never acknowledged
			if err := os.Remove(path); err != nil {
				return nil, fmt.Errorf("taking away half a part of a text: %w", err)
			}
		}
	}
	return p, nil
}

func readSet(path string) (*set, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("reading parts of a text: %w", err)
	}
	s := &set{}
	if err := json.Unmarshal(b, s); err != nil {
		return nil, fmt.Errorf("reading parts of a text: %s is damaged, look at it and take it away: %w", path, err)
	}
	return s, nil
}

// takePart keeps a part, and hands the text over with the last.
func (a *Adapter) takePart(ctx context.Context, in segment) error {
	p := a.parts
	p.mu.Lock()
	defer p.mu.Unlock()
	name := digest(in.Sender, in.Recipient, in.Reference, strconv.Itoa(in.Parts))
	s := p.sets[name]
	if s != nil && slices.Contains(s.Seen, seenAs(in)) {
		return nil
	}
	if s != nil && !s.Handed {
		if was, there := s.Parts[in.Part]; there && was.Text != in.Text {
			// A phone has come round to the same reference: what waited will not be completed.
			if err := a.handOver(ctx, s); err != nil {
				return err
			}
		}
	}
	if s == nil || s.Handed {
		if err := a.makeRoom(ctx); err != nil {
			return err
		}
		fresh := &set{Name: name, First: p.now(), Of: in.Parts, Parts: map[int]segment{}}
		if s != nil {
			fresh.Seen = s.Seen[max(0, len(s.Seen)-mostParts):]
		}
		s = fresh
	}
	if _, there := s.Parts[in.Part]; !there {
		s.Parts[in.Part] = in
		if err := p.write(s); err != nil {
			delete(s.Parts, in.Part)
			return err
		}
		p.sets[name] = s
	}
	if len(s.Parts) == s.Of {
		return a.handOver(ctx, s)
	}
	return nil
}

// seenAs names a part.
func seenAs(s segment) string { return digest(s.ID, strconv.Itoa(s.Part)) }

// HandOver hands over what has waited too long for its other parts, with dots where
// one is missing, and what could not be stored before. It forgets what is long done.
func (a *Adapter) HandOver(ctx context.Context) error {
	if a.parts == nil {
		return nil
	}
	p := a.parts
	p.mu.Lock()
	defer p.mu.Unlock()
	var errs []error
	for _, s := range p.sets {
		switch waited := p.now().Sub(s.First); {
		case s.Handed && waited > partsKnown:
			errs = append(errs, p.drop(s))
		case !s.Handed && (waited > partsWait || len(s.Parts) == s.Of):
			errs = append(errs, a.handOver(ctx, s))
		}
	}
	return errors.Join(errs...)
}

// makeRoom lets go of the oldest when too many wait. The lock is held.
func (a *Adapter) makeRoom(ctx context.Context) error {
	p := a.parts
	if len(p.sets) < partsKept {
		return nil
	}
	var oldest *set
	for _, s := range p.sets {
		if oldest == nil || s.First.Before(oldest.First) {
			oldest = s
		}
	}
	if !oldest.Handed {
		if err := a.handOver(ctx, oldest); err != nil {
			return err
		}
	}
	return p.drop(oldest)
}

// handOver hands over the parts there are as one text. The lock is held.
func (a *Adapter) handOver(ctx context.Context, s *set) error {
	whole := segment{}
	var texts, ids, seen []string
	for n := 1; n <= s.Of; n++ {
		part, there := s.Parts[n]
		if !there {
			if len(texts) == 0 || texts[len(texts)-1] != gap {
				texts = append(texts, gap)
			}
			ids = append(ids, "")
			continue
		}
		texts, ids, seen = append(texts, part.Text), append(ids, part.ID), append(seen, seenAs(part))
		if whole.At.IsZero() || part.At.Before(whole.At) {
			whole.At = part.At
		}
		whole.Sender = part.Sender
	}
	whole.ID, whole.Text = "p-"+digest(ids...), strings.Join(texts, "")
	if err := a.hand(ctx, whole); err != nil {
		return err
	}
	if len(s.Parts) < s.Of {
		a.o.Metrics.parts.Inc()
		a.o.Log.Warn().Str("message", whole.ID).Int("parts", len(s.Parts)).Int("of", s.Of).Msg("a long text was handed over without all its parts")
	}
	// The texts are in the record now; what stays is enough to know the parts again.
	s.Handed, s.Parts, s.Seen = true, nil, append(s.Seen, seen...)
	return a.parts.write(s)
}

// gap stands for parts that never came.
const gap = " … "

// write puts a set on the disk, whole or not at all.
func (p *parts) write(s *set) error {
	b, err := json.Marshal(s)
	if err != nil {
		return fmt.Errorf("keeping a part of a text: %w", err)
	}
	path := p.path(s)
	if err := durably(path+".new", b); err != nil {
		return fmt.Errorf("keeping a part of a text: %w", err)
	}
	if err := os.Rename(path+".new", path); err != nil {
		return fmt.Errorf("keeping a part of a text: %w", err)
	}
	return p.settle()
}

func durably(path string, b []byte) (err error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if _, err := f.Write(b); err != nil {
		return err
	}
	return f.Sync()
}

// settle has the folder's own entries on the disk.
func (p *parts) settle() error {
	d, err := os.Open(p.folder)
	if err != nil {
		return fmt.Errorf("keeping a part of a text: %w", err)
	}
	return errors.Join(d.Sync(), d.Close())
}

func (p *parts) drop(s *set) error {
	delete(p.sets, s.Name)
	if err := os.Remove(p.path(s)); err != nil {
		return fmt.Errorf("forgetting a text put together: %w", err)
	}
	return nil
}

func (p *parts) path(s *set) string { return filepath.Join(p.folder, s.Name+".json") }
