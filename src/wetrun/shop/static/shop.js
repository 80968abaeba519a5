// Niceties only: every page works without this file.
"use strict";

(() => {
  const LONG_ENOUGH_MS = 4000;

  const told = (which) => document.querySelector(`.trouble[data-when="${which}"]`);

  function tell(which) {
    for (const box of document.querySelectorAll(".trouble")) box.hidden = box !== which;
    which?.scrollIntoView({ block: "nearest" });
  }

  // A refused form: whoever listens, or works by keyboard, starts at what is wrong.
  function lookAtProblems(within) {
    const box = within.querySelector?.(".problems[role=alert]");
    if (box) box.focus();
  }

  // A second press while the first is on its way sends nothing. The button is not disabled, so that it is sent along,
  // and it is free again when the page comes back or after a few seconds, so that nobody is locked out.
  const sentAt = new WeakMap();

  function holdSecondPress(event) {
    const form = event.target;
    if (event.defaultPrevented || form.method !== "post" || form.hasAttribute("hx-post")) return;
    if (performance.now() - (sentAt.get(form) ?? -Infinity) < LONG_ENOUGH_MS) {
      event.preventDefault();
      return;
    }
    sentAt.set(form, performance.now());
    const button = event.submitter;
    button?.setAttribute("aria-busy", "true");
    setTimeout(() => release(form), LONG_ENOUGH_MS);
  }

  function release(form) {
    sentAt.delete(form);
    for (const button of form.querySelectorAll("[aria-busy]")) button.removeAttribute("aria-busy");
  }

  // Typed and not kept: the browser asks before the page is left. A form that came back refused is not kept either.
  const typed = new Set();

  function minds(form) {
    return form?.matches("form.sheet[method=post]") && !form.hasAttribute("hx-post");
  }

  function noteTyped(event) {
    const form = event.target.form;
    if (minds(form)) typed.add(form);
  }

  function askBeforeLeaving(event) {
    if ([...typed].some((form) => form.isConnected)) event.preventDefault();
  }

  document.addEventListener("input", noteTyped);
  document.addEventListener("click", (event) => {
    if (event.target.closest?.(".actions a")) typed.clear(); // left on purpose
  });
  document.addEventListener("submit", (event) => {
    holdSecondPress(event);
    if (!event.defaultPrevented) typed.delete(event.target);
  });
  window.addEventListener("beforeunload", askBeforeLeaving);
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) for (const form of document.forms) release(form);
  });

  // Parts of a page that are fetched: said in words when they cannot be.
  document.addEventListener("htmx:sendError", () => tell(told("unreachable")));
  document.addEventListener("htmx:timeout", () => tell(told("unreachable")));
  document.addEventListener("htmx:responseError", (event) => {
    tell(told(event.detail.xhr.status === 403 ? "signed-out" : "failed"));
  });
  document.addEventListener("htmx:afterRequest", (event) => {
    if (event.detail.successful) tell(null);
  });

  for (const form of document.querySelectorAll("form.sheet[method=post]")) {
    if (form.querySelector(".problems[role=alert]")) typed.add(form);
  }
  lookAtProblems(document);
})();
