// Boxes one types into: a comma is a decimal mark, Enter moves on to the next. The names of the
// pages on a phone, which fold away again. And the language of the document, which decides how it
// is read aloud.
//
// Streamlit asks for numbers with <input type="number">. A browser that speaks English drops the
// comma there without a word, so that 4,6 mm becomes 46 mm.
(() => {
  "use strict";

  const FIELD = 'input:not([type="hidden"]):not([type="file"]), textarea';
  const STOP = `${FIELD}, [role="radio"], button[data-testid^="stBaseButton-primary"]`;

  const isNumber = (each) => each instanceof HTMLInputElement && each.type === "number";

  // Through the browser's own editing, so that Streamlit hears of it as of any key.
  const put = (text) => document.execCommand("insertText", false, text);

  document.addEventListener("beforeinput", (event) => {
    if (!isNumber(event.target) || event.isComposing) return;
    if (event.inputType === "insertText" && event.data === ",") {
      event.preventDefault();
      put(".");
    }
  });

  document.addEventListener("paste", (event) => {
    if (!isNumber(event.target)) return;
    const text = (event.clipboardData?.getData("text") ?? "").trim();
    if (!/^[+-]?\d*,\d+$/.test(text)) return;
    event.preventDefault();
    put(text.replace(",", "."));
  });

  // A tablet's keyboard then shows digits, and "next" on its Enter.
  document.addEventListener("focusin", (event) => {
    if (!(event.target instanceof HTMLInputElement)) return;
    event.target.enterKeyHint = "next";
    if (isNumber(event.target)) event.target.inputMode = "decimal";
  });

  // Once the key is up: Streamlit has taken what was typed, and the next box does not hear this
  // Enter, which would choose there.
  let pressed = null;
  document.addEventListener("keydown", (event) => {
    const isPlain = !(event.ctrlKey || event.altKey || event.metaKey || event.shiftKey);
    const isEnter = event.key === "Enter" && !event.isComposing && isPlain;
    pressed = isEnter && isTyped(event.target) ? event.target : null;
  });
  document.addEventListener("keyup", (event) => {
    const from = pressed;
    if (event.key !== "Enter" || !from || from !== event.target) return;
    pressed = null;
    const next = following(from);
    if (!next) return;
    next.focus();
    if (isTyped(next)) next.select();
  });

  function isTyped(each) {
    if (!(each instanceof HTMLInputElement)) return false;
    return ["number", "text", "search"].includes(each.type) && each.role !== "combobox";
  }

  function following(from) {
    const around = from.closest('[role="dialog"], [data-testid="stPopoverBody"], main') ?? document;
    const stops = [...around.querySelectorAll(STOP)].filter(
      (each) => each === from || (isOpen(each) && leads(each)),
    );
    return stops[stops.indexOf(from) + 1];
  }

  function isOpen(each) {
    const box = each.getBoundingClientRect();
    return !each.disabled && box.width > 0 && each.checkVisibility({ visibilityProperty: true });
  }

  // On a phone the names of the pages lie over the page; once one is chosen they are in its way.
  document.addEventListener("click", (event) => {
    const isChosen = event.target.closest?.('[data-testid="stSidebarNavLink"]');
    if (!isChosen || !matchMedia("(max-width: 640px)").matches) return;
    document.querySelector('[data-testid="stSidebarCollapseButton"] button')?.click();
  });

  // What the page speaks now, where its reader chose another language than the browser's.
  const spoken = document.getElementsByClassName("spoken");
  new MutationObserver(() => {
    const lang = spoken[0]?.lang;
    if (lang && lang !== document.documentElement.lang) document.documentElement.lang = lang;
  }).observe(document, { childList: true, subtree: true });

  // Of a row of choices the one that Tab would reach.
  function leads(each) {
    return each.role !== "radio" || each.tabIndex === 0;
  }
})();
