"use strict";
// Sorts and sifts the faces. Without it the page shows them all.
(() => {
  const form = document.querySelector(".sieve");
  const list = document.querySelector(".cards");
  const cards = [...list.children];
  const given = new Map(cards.map((card, place) => [card, place]));
  const name = (card) => card.querySelector("h2").textContent.toLowerCase();
  const names = new Map(cards.map((card) => [card, name(card)]));
  const turn = form.elements.turn;
  const light = form.elements.light;

  const limit = (field) => (field.value === "" ? Infinity : Number(field.value));
  function meets(card) {
    const { show, name: words, minutes, points } = form.elements;
    if (show.value === "double" ? card.dataset.double !== "1" : show.value !== "all" && card.dataset.show !== show.value) return false;
    if (!names.get(card).includes(words.value.trim().toLowerCase())) return false;
    return Number(card.dataset.minutes) <= limit(minutes) && Number(card.dataset.difficulty) <= limit(points)
      || (minutes.value === "" && points.value === "");
  }

  function compare(by) {
    if (by === "given") return (a, b) => given.get(a) - given.get(b);
    if (by === "name") return (a, b) => (names.get(a) < names.get(b) ? -1 : names.get(a) > names.get(b) ? 1 : given.get(a) - given.get(b));
    return (a, b) => Number(a.dataset[by]) - Number(b.dataset[by]) || given.get(a) - given.get(b);
  }

  function sift() {
    let shown = 0;
    for (const card of cards) {
      card.hidden = !meets(card);
      if (!card.hidden) shown += 1;
    }
    const count = shown === cards.length ? `All ${cards.length} shown` : `${shown} of ${cards.length} shown`;
    form.querySelector(".count").textContent = count;
    document.querySelector(".none").hidden = shown > 0;
  }

  function order() {
    const sorted = [...cards].sort(compare(form.elements.sort.value));
    if (turn.getAttribute("aria-pressed") === "true") sorted.reverse();
    list.append(...sorted);
  }

  const dark = () => (document.documentElement.dataset.light ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "evening" : "day")) === "evening";
  const tellLight = () => { light.textContent = dark() ? "Day" : "Evening"; };

  form.addEventListener("input", sift);
  form.elements.sort.addEventListener("change", order);
  turn.addEventListener("click", () => { turn.setAttribute("aria-pressed", String(turn.getAttribute("aria-pressed") !== "true")); order(); });
  light.addEventListener("click", () => { document.documentElement.dataset.light = dark() ? "day" : "evening"; tellLight(); });
  form.addEventListener("reset", () => { turn.setAttribute("aria-pressed", "false"); setTimeout(() => { sift(); order(); }); });
  form.addEventListener("submit", (event) => event.preventDefault());
  form.hidden = false;
  tellLight();
  sift();
  order();
})();
