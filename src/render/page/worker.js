"use strict";
// Keeps the page for use without a network. A new page has a new name here, and the old one goes.
const SCOPE = ` of ${self.registration.scope}`;
const NAME = `tautmark {{version}}${SCOPE}`;
const FILES = ["./", "index.html", "manifest.webmanifest", "icon.svg"];
self.addEventListener("install", (event) => event.waitUntil(
  caches.open(NAME).then((cache) => cache.addAll(FILES)).then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(
  caches.keys()
    .then((names) => Promise.all(names.filter((name) => name.startsWith("tautmark ") && name.endsWith(SCOPE) && name !== NAME).map((name) => caches.delete(name))))
    .then(() => self.clients.claim())));
self.addEventListener("fetch", (event) => event.respondWith(
  caches.match(event.request).then((kept) => kept || fetch(event.request))));
