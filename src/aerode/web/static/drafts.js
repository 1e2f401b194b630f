// What was typed and not sent yet is there again after going back or reloading: pages are never stored
// by the browser, so it would be lost. It stays in this tab, and goes when the form is sent.
const forms = [...document.querySelectorAll("form[method=post]")];
const kept = (form) => `draft ${location.pathname}${location.search} ${forms.indexOf(form)}`;
const fields = (form) => [...form.elements].filter((one) => one.name && !["hidden", "file", "password"].includes(one.type));
const mark = (one) => (["checkbox", "radio"].includes(one.type) ? `${one.name}=${one.value}` : one.name);

function keep(form) {
  const typed = fields(form).map((one) => [mark(one), ["checkbox", "radio"].includes(one.type) ? one.checked : one.value]);
  sessionStorage.setItem(kept(form), JSON.stringify(typed));
}

function put(form) {
  const typed = new Map(JSON.parse(sessionStorage.getItem(kept(form)) ?? "[]"));
  for (const one of fields(form)) {
    const value = typed.get(mark(one));
    if (value === undefined || one.readOnly) continue;
    if (typeof value === "boolean") one.checked = value;
    else one.value = value;
    if (value && one.value !== one.defaultValue) one.closest("details")?.setAttribute("open", "");
  }
}

const came = performance.getEntriesByType("navigation")[0]?.type;
for (const form of forms) {
  if (came === "back_forward" || came === "reload") put(form);
  else sessionStorage.removeItem(kept(form));
  form.addEventListener("input", () => keep(form));
  form.addEventListener("submit", (event) => {
    // Who is led away for a thing that lacks comes back to it, by the program or by the browser.
    if (event.submitter?.name !== "away") sessionStorage.removeItem(kept(form));
  });
}

// A refused form stands in the history as the page it was typed on: going back to it asks for that
// page again, and nothing is sent twice.
if ("refused" in document.body.dataset && document.referrer.startsWith(`${location.origin}/`)) {
  history.replaceState(null, "", document.referrer);
}
