package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// lastRequests is how long requests taken are waited for.
const lastRequests = 5 * time.Second

// listener is an address, and the shops that are asked for at it.
type listener struct {
	shops   []*shop
	process prometheus.Gatherer // what is counted of the process itself
}

// handler answers what machines ask under any name that is no shop's, and sends the rest
// to the shop it names. Where there is one shop alone, every name is its.
func (l *listener) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /metrics", func(w http.ResponseWriter, r *http.Request) {
		promhttp.HandlerFor(l.counted(), promhttp.HandlerOpts{}).ServeHTTP(w, r)
	})
	health(mux, "", l.shops)
	for _, s := range l.shops {
		switch host := s.host(); {
		case len(l.shops) == 1:
			mux.Handle("/", &s.door)
		case host != "":
			health(mux, host, []*shop{s})
			mux.Handle(host+"/", &s.door)
		}
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Host = strings.ToLower(r.Host) // a name is the same in capitals (RFC 9110, 4.2.3)
		mux.ServeHTTP(w, r)
	})
}

// health mounts what a machine asks of how shops are, under a name.
func health(mux *http.ServeMux, host string, shops []*shop) {
	mux.HandleFunc("GET "+host+"/healthz", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "ok") })
	mux.HandleFunc("GET "+host+"/readyz", func(w http.ResponseWriter, _ *http.Request) {
		var errs []error
		for _, s := range shops {
			err := s.ready()
			if err != nil && len(shops) > 1 {
				err = fmt.Errorf("%s: %w", s.config.Shop, err)
			}
			errs = append(errs, err)
		}
		if err := errors.Join(errs...); err != nil {
			http.Error(w, err.Error(), http.StatusServiceUnavailable)
			return
		}
		fmt.Fprintln(w, "ready")
	})
}

// counted is what is counted of the process and of the shops.
func (l *listener) counted() prometheus.Gatherer {
	all := prometheus.Gatherers{l.process}
	for _, s := range l.shops {
		all = append(all, s.counts.Load())
	}
	return all
}

// door is where a shop is asked for. While it is shut, whoever asks is told to come
// again.
type door struct {
	mu     sync.Mutex
	behind *inside // nil while shut
}

// inside is what answers and those it answers just now.
type inside struct {
	http.Handler
	asking sync.WaitGroup
}

// ServeHTTP lets a request in.
func (d *door) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	d.mu.Lock()
	behind := d.behind
	if behind != nil {
		behind.asking.Add(1)
	}
	d.mu.Unlock()
	if behind == nil {
		w.Header().Set("Retry-After", "5")
		http.Error(w, "not served just now; ask again", http.StatusServiceUnavailable)
		return
	}
	defer behind.asking.Done()
	behind.ServeHTTP(w, r)
}

// open lets in, until what it gives has its context ended and has waited for those inside.
func (d *door) open(h http.Handler) (shut func(context.Context) error) {
	behind := &inside{Handler: h}
	d.set(behind)
	return func(ctx context.Context) error {
		<-ctx.Done()
		d.set(nil)
		left := make(chan struct{})
		go func() {
			behind.asking.Wait()
			close(left)
		}()
		select {
		case <-left:
			return nil
		case <-time.After(lastRequests):
			return errors.New("a request was still being answered; it was left")
		}
	}
}

func (d *door) set(behind *inside) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.behind = behind
}

// serveHTTP answers until the context ends, then finishes what it took.
func serveHTTP(ctx context.Context, l net.Listener, h http.Handler) error {
	s := &http.Server{Handler: h, ReadHeaderTimeout: lastRequests, ReadTimeout: 2 * lastRequests, IdleTimeout: time.Minute}
	ended := make(chan error, 1)
	go func() {
		<-ctx.Done()
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), lastRequests)
		defer cancel()
		ended <- s.Shutdown(last)
	}()
	if err := s.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return <-ended
}
