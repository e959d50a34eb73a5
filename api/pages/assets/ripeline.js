// Small comforts; every page works without them.
(() => {
  "use strict";

  // First run: the browser knows the time zone.
  const zone = document.querySelector("[data-zone] input");
  if (zone && !zone.value) {
    zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "";
  }

  // Copy buttons show only where copying works.
  for (const button of document.querySelectorAll("[data-copy]")) {
    const source = document.getElementById(button.dataset.copy);
    if (!source || !navigator.clipboard) continue;
    button.hidden = false;
    button.addEventListener("click", async () => {
      source.select();
      try {
        await navigator.clipboard.writeText(source.value);
        button.textContent = "Copied";
      } catch {
        button.textContent = "Press Ctrl+C";
      }
    });
  }

  // A second tap on a button that is already at work does nothing; the button
  // shows that it works (see form[data-sent] in the style).
  for (const form of document.querySelectorAll("form")) {
    form.addEventListener("submit", (event) => {
      if (form.dataset.sent) {
        event.preventDefault();
        return;
      }
      form.dataset.sent = "1";
    });
  }
  addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  });

  // The plan opens at today.
  const today = document.querySelector(".plan .todayline");
  const scroll = document.querySelector(".plan .scroll");
  if (today && scroll) scroll.scrollLeft = Math.max(0, today.x1.baseVal.value - 60);
})();
