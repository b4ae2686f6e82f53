"use strict";
// --- news

let fetching = false, wanted = false, pictureKeys = "";

async function refresh() {
  wanted = true;
  if (fetching) { return; }
  fetching = true;
  try {
    while (wanted) {
      wanted = false;
      /** @type {State | null} */
      const found = await (await fetch("/state.json")).json();
      if (!found) { continue; }
      state = found;
      const keys = JSON.stringify(Object.values(state.views).map(one => one?.key));
      if (keys !== pictureKeys) {
        // none before the first build
        pictures = await (await fetch("/pictures.json")).json() || {};
        pictureKeys = keys;
      }
      remember();
      showWords();
      showTabs();
      showView();
      showSliders();
      document.body.dataset.save = String(state.save);
      document.body.dataset.busy = String(state.busy);
    }
  } finally { fetching = false; }
}

function showStatus() {
  const line = byId("status"), busy = Boolean(working) || state.busy;
  line.classList.toggle("busy", busy);
  setText(line, busy ? "Working" + (working ? ": " + working : "") : !state.save ? "Waiting."
    : state.faults.length ? "Not read." : state.notice || "Save " + state.save + ": all made.");
}

let working = "", revision = -1;

function listen() {
  const events = new EventSource("/events");
  events.onmessage = async event => {
    /** @type {News} */
    const news = JSON.parse(event.data);
    working = news.working;
    if (news.revision !== revision) {
      revision = news.revision;
      try { await refresh(); } catch { revision = -1; }
    }
    showStatus();
  };
  events.onerror = () => {
    events.close();
    revision = -1;
    byId("status").classList.remove("busy");
    setText(byId("status"), "The watch has ended, or can not be reached.");
    setTimeout(listen, AGAIN_MS);
  };
}

listen();
