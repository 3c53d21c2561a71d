"use strict";
// The page can be read without this. With it, each indication can be called, and the calls saved.
(() => {
  const WORDS = [["", "not called"], ["relevant", "relevant"], ["non-relevant", "non-relevant"], ["false", "false"], ["re-test", "re-test"]];
  const KEYS = { r: "relevant", n: "non-relevant", f: "false", t: "re-test", u: "" };
  const COLUMNS = ["photo", "id", "relevance", "label", "reason", "by", "when", "own_length_mm", "own_width_mm", "x_mm", "y_mm", "x_px", "y_px"];
  const rows = [...document.querySelectorAll("tr[data-id]")];
  const photos = new Set([...document.querySelectorAll("[data-sha]")].map((e) => e.dataset.sha));
  const desk = document.getElementById("desk");
  if (!desk || !photos.size) return;
  // Calls are kept in this browser by photo, so that they are still there when the page is made anew.
  const safely = (work) => { try { return work(); } catch { return null; } };
  const calls = new Map();
  let by = safely(() => localStorage.getItem("nde-calls/by")) || "", now = -1, unsaved = false;
  for (const sha of photos) {
    const kept = safely(() => JSON.parse(localStorage.getItem("nde-calls/" + sha)));
    calls.set(sha, kept && typeof kept === "object" ? kept : {});
  }
  const store = (sha) => safely(() => {
    localStorage.setItem("nde-calls/" + sha, JSON.stringify(calls.get(sha)));
    localStorage.setItem("nde-calls/by", by);
  });
  const call = (row) => calls.get(row.dataset.sha)[row.dataset.id];
  const all = () => [...calls.values()].flatMap((of) => Object.values(of)).filter((c) => c.relevance);

  const stamp = () => {
    const d = new Date(), two = (n) => String(n).padStart(2, "0"), off = -d.getTimezoneOffset();
    return d.getFullYear() + "-" + two(d.getMonth() + 1) + "-" + two(d.getDate()) + "T" + two(d.getHours()) + ":" + two(d.getMinutes()) + ":" + two(d.getSeconds()) +
      (off < 0 ? "-" : "+") + two(Math.floor(Math.abs(off) / 60)) + ":" + two(Math.abs(off) % 60);
  };
  const size = (text) => { const t = text.trim().replace(",", "."); return /^\d{1,4}(\.\d{1,6})?$/.test(t) ? t : ""; };
  // A cell that a spreadsheet would take for a formula gets an apostrophe in front.
  const cell = (text) => {
    let t = String(text ?? "").replace(/[\u0000-\u0008\u000b-\u001f]/g, " ");
    if (/^[=+\-@\t\r]/.test(t) && !/^-?\d+(\.\d+)?$/.test(t)) t = "'" + t;
    return /[",\n]/.test(t) ? '"' + t.replaceAll('"', '""') + '"' : t;
  };
  const csv = () => {
    const told = all().sort((a, b) => (a.photo < b.photo ? -1 : a.photo > b.photo ? 1 : Number(a.id) - Number(b.id) || (a.id < b.id ? -1 : 1)));
    return COLUMNS.join(",") + "\n" + told.map((c) => COLUMNS.map((name) => cell(c[name])).join(",") + "\n").join("");
  };

  const said = document.createElement("span");
  said.setAttribute("role", "status");
  const tell = () => {
    const done = rows.filter((row) => call(row)?.relevance).length;
    // The command refuses what is called away without a reason: say so before it does.
    const bare = all().filter((c) => ["non-relevant", "false"].includes(c.relevance) && !c.reason).length;
    said.textContent = (rows.length ? `${done} of ${rows.length} on this page called` : `${all().length} calls made on the pages of the photos`)
      + (bare ? `, ${bare} called away without a reason (Enter writes one)` : "") + (unsaved ? ", not saved yet" : "");
  };
  const touch = (row, form) => {
    const d = row.dataset, field = (name) => form.querySelector(`[name=${name}]`).value.trim();
    const own = ["own_length_mm", "own_width_mm"].map((name) => {
      const input = form.querySelector(`[name=${name}]`), value = size(input.value);
      input.setCustomValidity(input.value.trim() && !value ? "millimetres, such as 3.2" : "");
      return value;
    });
    calls.get(d.sha)[d.id] = { photo: d.photo, id: d.id, relevance: field("relevance"), label: field("label").toLowerCase(), reason: field("reason"), by, when: stamp(),
      own_length_mm: own[0], own_width_mm: own[1], x_mm: d.xMm, y_mm: d.yMm, x_px: d.xPx, y_px: d.yPx };
    unsaved = true; store(d.sha); tell();
  };
  const put = (parent, tag, more) => { const e = document.createElement(tag); Object.assign(e, more); parent.append(e); return e; };

  const forms = rows.map((row) => {
    const line = document.createElement("tr");
    line.className = "calls open";
    const box = put(put(line, "td", { colSpan: row.cells.length }), "div", {});
    const label = (text) => put(box, "label", { textContent: text + " " });
    const select = put(label("call " + row.dataset.id), "select", { name: "relevance" });
    for (const [value, text] of WORDS) put(select, "option", { value, textContent: text });
    put(label("what it is"), "input", { name: "label", maxLength: 60 });
    put(label("reason"), "input", { name: "reason", maxLength: 400 });
    put(label("own length mm"), "input", { name: "own_length_mm", inputMode: "decimal" });
    put(label("own width mm"), "input", { name: "own_width_mm", inputMode: "decimal" });
    const known = call(row);
    if (known) for (const field of box.querySelectorAll("[name]")) field.value = known[field.name] || "";
    box.addEventListener("input", () => touch(row, box));
    box.addEventListener("focusin", () => go(rows.indexOf(row), false));
    row.after(line);
    return box;
  });
  const go = (n, scroll) => {
    if (n < 0 || n >= rows.length) return;
    rows[now]?.classList.remove("now");
    now = n;
    rows[now].classList.add("now");
    if (scroll) { rows[now].scrollIntoView({ block: "center" }); document.activeElement?.blur?.(); }
  };
  const save = () => {
    const file = new Blob([csv()], { type: "text/csv;charset=utf-8" }), link = document.createElement("a");
    link.href = URL.createObjectURL(file);
    link.download = "calls.csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    unsaved = false; tell();
  };

  desk.hidden = false;
  const who = put(put(desk, "label", { textContent: "Your initials " }), "input", { name: "by", maxLength: 40, value: by });
  who.addEventListener("input", () => { by = who.value.trim(); for (const c of all()) if (!c.by) c.by = by; for (const sha of photos) store(sha); });
  desk.append(" ");
  put(desk, "button", { type: "button", textContent: "Save calls.csv" }).addEventListener("click", save);
  desk.append(" ", said);
  if (rows.length) put(desk, "div", { className: "soft", innerHTML:
    "Keys: <kbd>j</kbd> <kbd>k</kbd> next, previous indication; <kbd>r</kbd> relevant, <kbd>n</kbd> non-relevant, <kbd>f</kbd> false, <kbd>t</kbd> re-test, <kbd>u</kbd> not called; <kbd>Enter</kbd> reason, <kbd>Esc</kbd> back; <kbd>s</kbd> save. Then: nde evaluate ... --calls calls.csv" });
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const typing = /^(INPUT|SELECT|TEXTAREA)$/.test(document.activeElement?.tagName || "");
    if (typing) { if (event.key === "Escape") document.activeElement.blur(); return; }
    const k = event.key;
    if (k === "j") go(now + 1, true);
    else if (k === "k") go(Math.max(now - 1, 0), true);
    else if (k === "s") save();
    else if (now >= 0 && k in KEYS) { forms[now].querySelector("select").value = KEYS[k]; touch(rows[now], forms[now]); }
    else if (now >= 0 && k === "Enter") forms[now].querySelector("[name=reason]").focus();
    else return;
    event.preventDefault();
  });
  window.addEventListener("beforeunload", (event) => { if (unsaved && !safely(() => localStorage.getItem("nde-calls/by") !== null)) event.preventDefault(); });
  tell();
  // For checks of this page from outside.
  window.ndeCalls = { csv };
})();
