package bot

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"iter"
	"slices"
	"time"

	"github.com/hashicorp/go-memdb"
)

// The table of live jobs and its indexes.
const (
	jobTable     = "job"
	byID         = "id"
	byThread     = "thread" // where it began
	byRoom       = "room"   // in the shop's room, when it began elsewhere
	byTechnician = "technician"
	byStatus     = "status"
	byWaiting    = "waiting"
	byActivity   = "activity"
)

// jobSchema describes the table of live jobs.
func jobSchema() *memdb.TableSchema {
	index := func(name string, unique bool, of func(*Job) []byte) *memdb.IndexSchema {
		return &memdb.IndexSchema{Name: name, Unique: unique, AllowMissing: !unique, Indexer: indexer(of)}
	}
	return &memdb.TableSchema{Name: jobTable, Indexes: map[string]*memdb.IndexSchema{
		byID:         index(byID, true, func(j *Job) []byte { return text(j.ID) }),
		byThread:     index(byThread, false, func(j *Job) []byte { return j.Home.index() }),
		byRoom:       index(byRoom, false, func(j *Job) []byte { return j.Thread.index() }),
		byTechnician: index(byTechnician, false, func(j *Job) []byte { return text(j.Technician) }),
		byStatus:     index(byStatus, false, func(j *Job) []byte { return text(j.Status) }),
		byWaiting:    index(byWaiting, false, func(j *Job) []byte { return instant(j.WaitingSince) }),
		byActivity:   index(byActivity, false, func(j *Job) []byte { return instant(j.LastActivity) }),
	}}
}

// indexer makes an index of what a function gives of a job; nothing is not indexed.
type indexer func(*Job) []byte

// FromObject gives the index of a job.
func (of indexer) FromObject(raw any) (ok bool, key []byte, err error) {
	j, ok := raw.(*Job)
	if !ok {
		return false, nil, fmt.Errorf("a %T is no job", raw)
	}
	key = of(j)
	return len(key) > 0, key, nil
}

// FromArgs gives the index to look for: the key itself.
func (of indexer) FromArgs(args ...any) ([]byte, error) {
	if len(args) == 1 {
		if key, ok := args[0].([]byte); ok {
			return key, nil
		}
	}
	return nil, fmt.Errorf("an index is looked up by one key, not by %v", args)
}

func text(s string) []byte {
	if s == "" {
		return nil
	}
	return append([]byte(s), 0)
}

func instant(t time.Time) []byte {
	if t.IsZero() {
		return nil
	}
	return binary.BigEndian.AppendUint64(nil, uint64(t.UnixMicro())^(1<<63))
}

func (p Place) index() []byte {
	if !p.threaded() {
		return nil
	}
	return text(p.name())
}

// name is the place in one text; a newline is in none of its parts.
func (p Place) name() string { return p.Channel + "\n" + p.Conversation + "\n" + p.Thread }

// table holds the live jobs. Reading never waits for writing.
type table struct {
	db *memdb.MemDB
	// closed is where jobs stood that were closed not long ago, so that who read one
	// before does not put it back.
	closed *recent[int64]
}

// closedKept is how many of them are remembered: more than are closed while anybody reads.
const closedKept = 4096

func newTable() (*table, error) {
	db, err := memdb.NewMemDB(&memdb.DBSchema{Tables: map[string]*memdb.TableSchema{jobTable: jobSchema()}})
	if err != nil {
		return nil, fmt.Errorf("making the table of jobs: %w", err)
	}
	return &table{db, newRecent[int64](closedKept)}, nil
}

// put sets jobs, and takes away those that are closed. One that stands further on in the
// table than what is put stays: it is put by whoever wrote it and by whoever read it.
func (t *table) put(jobs ...*Job) error {
	tx := t.db.Txn(true)
	defer tx.Abort() // after a commit it does nothing
	for _, j := range jobs {
		raw, err := tx.First(jobTable, byID, text(j.ID))
		if err != nil {
			return fmt.Errorf("looking for job %s: %w", j.ID, err)
		}
		stood, _ := t.closed.get(j.ID)
		if there, ok := raw.(*Job); ok {
			stood = max(stood, there.Seq)
		}
		if stood > j.Seq {
			continue
		}
		if !j.Open() {
			t.closed.put(j.ID, j.Seq)
		}
		if j.Open() {
			if err := tx.Insert(jobTable, j); err != nil {
				return fmt.Errorf("setting job %s: %w", j.ID, err)
			}
		} else if _, err := tx.DeleteAll(jobTable, byID, text(j.ID)); err != nil {
			return fmt.Errorf("taking job %s away: %w", j.ID, err)
		}
	}
	tx.Commit()
	return nil
}

// job gives a live job, or nil.
func (t *table) job(id string) *Job { return t.first(byID, text(id)) }

// at gives the live job of a thread, or nil.
func (t *table) at(p Place) *Job {
	if !p.threaded() {
		return nil
	}
	if j := t.first(byThread, p.index()); j != nil {
		return j
	}
	return t.first(byRoom, p.index())
}

func (t *table) first(index string, key []byte) *Job {
	if len(key) == 0 {
		return nil
	}
	raw, err := t.db.Txn(false).First(jobTable, index, key)
	if j, ok := raw.(*Job); err == nil && ok {
		return j
	}
	return nil
}

// of lists a technician's open jobs, the oldest first.
func (t *table) of(person string) []*Job {
	jobs := slices.Collect(t.all(byTechnician, text(person)))
	slices.SortFunc(jobs, func(a, b *Job) int { return cmp.Or(a.Opened.Compare(b.Opened), cmp.Compare(a.ID, b.ID)) })
	return jobs
}

// everyone goes through all live jobs by name.
func (t *table) everyone() iter.Seq[*Job] { return t.all(byID) }

// waiting goes through the jobs whose call waits, the longest waiting first.
func (t *table) waiting() iter.Seq[*Job] { return t.all(byWaiting) }

func (t *table) all(index string, key ...[]byte) iter.Seq[*Job] {
	return func(yield func(*Job) bool) {
		args := make([]any, len(key))
		for i, k := range key {
			args[i] = k
		}
		found, err := t.db.Txn(false).Get(jobTable, index, args...)
		if err != nil {
			return
		}
		for raw := found.Next(); raw != nil; raw = found.Next() {
			if j, ok := raw.(*Job); ok && !yield(j) {
				return
			}
		}
	}
}
