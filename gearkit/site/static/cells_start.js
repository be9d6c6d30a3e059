// Notebooks in the browser, before they start: the site's own service worker must be in charge, because it also carries
// files between Python and the page and keeps everything for times without a network. JupyterLite would remove it.

import { say } from "./words.js";

const site = new URL("../", import.meta.url);
const CLAIM_MILLISECONDS = 4000;
const TRIED = "gearkit/cells tried";

export const begin = async (version, main) => {
  if (!("serviceWorker" in navigator) || !window.isSecureContext) {
    tell(say("At this address your browser allows no notebooks: they need https, or a server on this machine. The lessons' pages work here."));
    return;
  }
  tell(say("Notebooks are being made ready: the first time this takes a while."));
  try {
    await navigator.serviceWorker.register(new URL("service_worker.js", site), { scope: site.pathname });
    await navigator.serviceWorker.ready;
  } catch (fault) {
    tell(say("Notebooks cannot be started here: this browser keeps no pages ({reason}). Private windows often do not; the lessons' pages work here.", { reason: fault.message }));
    return;
  }
  const worker = await inCharge();
  // A page that was loaded past its worker gets it back when it is loaded again.
  if (!worker && !sessionStorage.getItem(TRIED)) { sessionStorage.setItem(TRIED, "1"); location.reload(); return; }
  sessionStorage.removeItem(TRIED);
  if (worker) {
    localStorage.setItem(`${worker.scriptURL}-version`, version);
    worker.postMessage({ keep: "own_code" });
  }
  await import(main);
  // Words stay until there is something to see.
  const seen = new MutationObserver(() => { if (document.getElementById("main")) { seen.disconnect(); tell(""); } });
  seen.observe(document.body, { childList: true, subtree: true });
};

function inCharge() {
  const { serviceWorker } = navigator;
  if (serviceWorker.controller) return serviceWorker.controller;
  return new Promise((done) => {
    serviceWorker.addEventListener("controllerchange", () => done(serviceWorker.controller), { once: true });
    setTimeout(() => done(serviceWorker.controller), CLAIM_MILLISECONDS);
  });
}

function tell(words) {
  let place = document.getElementById("gk-cells");
  if (!place) {
    place = Object.assign(document.createElement("p"), { id: "gk-cells" });
    place.setAttribute("role", "status");
    place.style.cssText = "margin:1rem;font:17px/1.5 system-ui,sans-serif;max-width:40rem";
    document.body.append(place);
  }
  const back = Object.assign(document.createElement("a"), { href: new URL("index.html", site).href, textContent: say("Back to the course") });
  place.replaceChildren(words, " ", back);
  place.hidden = !words;
  if (!words) place.remove();
}
