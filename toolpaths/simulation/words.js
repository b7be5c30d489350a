/* Words, figures and elements, for all that follows. */

const data = JSON.parse(document.getElementById("data").textContent);
const $ = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";

/* The style sheet's colours. Those of depth go from light to dark in every channel, so that "darken" leaves the deepest
   whatever the order of cuts; their steps differ in lightness, which every kind of colour vision sees. */
const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
const INKS = ["paper", "line", "thin", "sheet", "clamp", "cutter", "zero"];
const INK = Object.fromEntries(INKS.map((name) => [name, colour(name)]));
const DEPTHS = ["quarter", "half", "three-quarters", "nearly", "through"].map(colour);

function make(tag, className, text) {
  const element = document.createElement(tag);
  if (className) element.className = className;
  if (text !== undefined) element.textContent = text;
  return element;
}

function draw(tag, attributes, text) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  if (text !== undefined) element.textContent = text;
  return element;
}

function say(element, text) { if (element.textContent !== text) element.textContent = text; }

const INCH = 25.4;
const signed = (text) => text.replace(/^-(?=.*[1-9])/, "−").replace(/^-/, "");
const rounded = (value, decimals) => signed(value.toFixed(decimals));
const trimmed = (value, decimals) => signed(String(Number(value.toFixed(decimals))));
/* What the machine shows stands in the units of the program, what is measured in those of the job. */
const axis = (mm) => data.program_units === "in" ? rounded(mm / INCH, 3) : rounded(mm, 2);
const feedRate = (mm) => data.program_units === "in" ? `${trimmed(mm / INCH, 1)} in/min` : `${trimmed(mm, 0)} mm/min`;
const measured = (mm) => data.units === "in" ? `${trimmed(mm / INCH, 4)} in` : `${trimmed(mm, 3)} mm`;

function clock(seconds, tenths) {
  const whole = tenths ? Math.floor(seconds * 10 + 1e-6) / 10 : Math.round(seconds);
  const h = Math.floor(whole / 3600), m = Math.floor(whole / 60) % 60, s = whole % 60;
  const two = (value) => String(value).padStart(2, "0");
  const last = tenths ? s.toFixed(1).padStart(4, "0") : two(s);
  return h ? `${h}:${two(m)}:${last}` : `${m}:${last}`;
}

const named = (setup) => `${setup.panel}: setup ${setup.number}${setup.count ? ` of ${setup.count}` : ""}`;
const does = (operation) => [operation.kind, operation.tags.join(" ")].filter(Boolean).join(" ");

function labels(setup, operation) {
  return [...new Set(operation.tags.map((tag) => setup.named.get(tag)).filter(Boolean))].join(", ");
}
