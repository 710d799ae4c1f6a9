package bot

import (
	"context"
	"errors"
	"fmt"
)

// Service is the shop's desk: it takes what the channels bring in, keeps the
// record, answers, and tells whom it concerns. Register every channel, then Run.
type Service struct {
	senders map[string]Sender
}

// Register names the sender of a channel. It must come before Run.
func (s *Service) Register(channel string, sender Sender) error {
	if s.senders[channel] != nil {
		return fmt.Errorf("registering the channel %s: it has a sender already", channel)
	}
	if s.senders == nil {
		s.senders = map[string]Sender{}
	}
	s.senders[channel] = sender
	return nil
}

// Receive takes one event of a channel. When it returns without an error the event
// and its answer are in the record; a repeat changes nothing.
func (s *Service) Receive(_ context.Context, in Inbound) error {
	return fmt.Errorf("receiving a message of %s: %w", in.Channel, errors.ErrUnsupported)
}

// Summary is an open job in a list, such as the board of an app.
type Summary struct {
	Job, Technician, Status string
	Place                   Place
	Text                    string // a line: what it waits on, since when
	Buttons                 []Button
}

// Place is where a job is talked about.
type Place struct {
	Channel, Conversation, Thread string
}

// OpenJobs lists the jobs a person may see, by his identity in a channel: his own
// for a technician, else every open one, the longest waiting first. Nobody known
// gets none.
func (s *Service) OpenJobs(channel, identity string) []Summary { return nil }
