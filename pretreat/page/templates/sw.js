// Keeps the page itself, and nothing that a person enters, so that it opens without a connection.

const NAME = "pretreat-__MARK__";
const FILES = __FILES__;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(NAME).then((kept) => kept.addAll(FILES)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(caches.keys()
    .then((names) => Promise.all(names.filter((name) => name !== NAME).map((name) => caches.delete(name))))
    .then(() => self.clients.claim()));
});

// The program first, so that nobody works with an old page; what is kept where it cannot be reached.
self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== self.location.origin || !FILES.includes(pathname)) return;
  const kept = () => caches.match(pathname, { cacheName: NAME });
  event.respondWith(pathname.startsWith("/static/")
    ? kept().then((found) => found || fetch(event.request))
    : fetch(event.request).catch(() => kept().then((found) => found || Response.error())));
});
