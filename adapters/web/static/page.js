"use strict";
// Keeps a page live, and holds what could not be sent for want of signal. Every page
// works without it.
(() => {
  const byId = (id) => document.getElementById(id);

  // What a person has opened or begun to write on a piece outlives its renewal.
  const remember = () => {
    const open = [...document.querySelectorAll("details[id]")].map((d) => [d.id, d.open]);
    const typed = [...document.querySelectorAll("[data-piece] :is(input, textarea, select)[id]")].map((f) => [f.id, f.value]);
    const at = document.activeElement && document.activeElement.id;
    return () => {
      for (const [id, is] of open) if (byId(id)) byId(id).open = is;
      for (const [id, value] of typed) if (byId(id)) byId(id).value = value;
      if (at && byId(at) && document.activeElement !== byId(at)) byId(at).focus({preventScroll: true});
    };
  };

  const put = (piece) => {
    const old = byId(piece.id);
    const made = document.createElement("template");
    made.innerHTML = piece.html;
    const fresh = made.content.firstElementChild;
    if (!fresh) {
      if (old) old.remove();
    } else if (!old) {
      const into = byId(piece.in);
      if (into) into.append(fresh);
      fresh.classList.add("fresh");
    } else if (!old.isEqualNode(fresh)) {
      old.replaceWith(fresh);
    }
  };

  const change = (update) => {
    const restore = remember();
    const low = window.innerHeight + window.scrollY > document.body.offsetHeight - 120;
    update.pieces.forEach(put);
    if (update.whole) {
      const there = new Set(update.pieces.map((p) => p.id));
      document.querySelectorAll("[data-piece]").forEach((e) => there.has(e.id) || e.remove());
    }
    restore();
    if (low && byId("say")) window.scrollTo(0, document.body.scrollHeight);
  };

  const follow = (url) => {
    const line = byId("line");
    const say = (state) => {
      if (line.dataset.state === state) return;
      line.dataset.state = state;
      line.textContent = state === "lost" ? line.dataset.lost : line.dataset.there;
    };
    const source = new EventSource(url);
    source.onopen = () => say("live");
    source.addEventListener("page", (e) => { change(JSON.parse(e.data)); say("live"); });
    source.onerror = () => {
      say("lost");
      if (source.readyState === EventSource.CLOSED) setTimeout(() => follow(url), 3000);
    };
  };
  if (document.body.dataset.live) follow(document.body.dataset.live);

  // Unsent messages are kept by person, with the id each goes under, so that one sent
  // twice is one message.
  const form = byId("say");
  const shelf = "unsent-" + document.body.dataset.person;
  const kept = () => JSON.parse(localStorage.getItem(shelf) || "[]");
  const keep = (all) => localStorage.setItem(shelf, JSON.stringify(all));
  const show = () => {
    document.querySelectorAll("li.unsent").forEach((e) => e.remove());
    for (const m of kept()) {
      if (m.to !== form.getAttribute("action")) continue;
      const li = byId("unsent").content.firstElementChild.cloneNode(true);
      li.querySelector(".pre").textContent = m.text;
      if (m.refused) li.querySelector(".by").textContent = li.dataset.refused;
      byId("talk").append(li);
    }
  };

  let sending = false;
  const send = async () => {
    if (sending) return;
    sending = true;
    try {
      for (let m; (m = kept().find((k) => !k.refused));) {
        const body = new URLSearchParams({id: m.id, text: m.act ? "" : m.text, act: m.act, at: m.at});
        const answer = await fetch(m.to, {method: "POST", body, redirect: "manual"});
        const taken = answer.ok || answer.type === "opaqueredirect";
        if (!taken && (answer.status >= 500 || answer.status === 401 || answer.status === 429)) throw new Error(String(answer.status));
        keep(kept().filter((k) => k.id !== m.id || !taken).map((k) => (k.id === m.id ? {...k, refused: true} : k)));
        show();
        if (taken && m.to === "/talk") location.assign("/talk");
      }
    } catch {
      setTimeout(send, 5000);
    } finally {
      sending = false;
    }
  };

  if (form && byId("unsent") && window.localStorage) {
    const text = form.elements.text;
    const id = () => (crypto.randomUUID ? crypto.randomUUID() : Date.now() + "-" + Math.random());
    form.addEventListener("submit", (e) => {
      e.preventDefault();
      const pressed = e.submitter && e.submitter.name === "act" ? e.submitter : null;
      const words = pressed ? pressed.textContent : text.value.trim();
      if (!words) return;
      keep([...kept(), {id: id(), text: words, act: pressed ? pressed.value : "", to: form.getAttribute("action"), at: new Date().toISOString()}]);
      if (!pressed) text.value = "";
      show();
      window.scrollTo(0, document.body.scrollHeight);
      send();
      text.focus();
    });
    text.addEventListener("keydown", (e) => {
      if (e.key === "Enter" && !e.shiftKey && !e.isComposing && matchMedia("(pointer: fine)").matches) {
        e.preventDefault();
        form.requestSubmit();
      }
    });
    window.addEventListener("online", send);
    show();
    send();
    window.scrollTo(0, document.body.scrollHeight);
    if ("serviceWorker" in navigator) navigator.serviceWorker.register("/worker.js").catch(() => {});
  }

  const leave = byId("sign-out");
  if (leave) leave.addEventListener("submit", (e) => {
    if (kept().length && !confirm(leave.dataset.unsent)) e.preventDefault();
    else if (window.caches) caches.delete("pages");
  });
})();
