package slacktest

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
)

// offer names a place a file of the app's may be uploaded to.
func (s *Server) offer(v url.Values) map[string]any {
	size, err := strconv.Atoi(v.Get("length"))
	if err != nil || size <= 0 || v.Get("filename") == "" {
		return failure("invalid_arguments")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	id := fmt.Sprintf("F%d", s.id())
	s.uploads[id] = &File{ID: id, Name: v.Get("filename"), Size: size, Alt: v.Get("alt_txt")}
	return map[string]any{"ok": true, "file_id": id, "upload_url": "http://" + s.addr + "/upload/" + id}
}

// upload takes a file's content, of the size that was told.
func (s *Server) upload(w http.ResponseWriter, r *http.Request) {
	in, _, err := r.FormFile("file")
	if err != nil {
		http.Error(w, "no file", http.StatusBadRequest)
		return
	}
	content, err := io.ReadAll(in)
	s.mu.Lock()
	defer s.mu.Unlock()
	f := s.uploads[r.PathValue("file")]
	if err != nil || f == nil || len(content) != f.Size {
		http.Error(w, "not the file that was told", http.StatusBadRequest)
		return
	}
	f.Content, f.Mimetype = content, http.DetectContentType(content)
}

// share posts files that were uploaded, as the app's.
func (s *Server) share(v url.Values) map[string]any {
	var files []struct{ ID, Title string }
	if json.Unmarshal([]byte(v.Get("files")), &files) != nil || len(files) == 0 {
		return failure("invalid_arguments")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	m := &message{conversation: v.Get("channel_id"), thread: v.Get("thread_ts"), user: AppUser, bot: appBot}
	if strings.HasPrefix(m.conversation, "U") {
		return failure("channel_not_found") // a person is no conversation here
	}
	if m.thread != "" && s.find(m.conversation, m.thread) == nil {
		return failure("thread_not_found")
	}
	for _, f := range files {
		up := s.uploads[f.ID]
		if up == nil || up.Content == nil {
			return failure("file_not_found")
		}
		up.Title = f.Title
		m.files = append(m.files, *up)
	}
	m.ts = s.stamp()
	s.messages = append(s.messages, m)
	s.moved()
	return map[string]any{"ok": true, "files": files}
}
