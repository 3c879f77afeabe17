// How the site's search orders its hits: what a maker looks for comes before what a programmer does.
// Sphinx asks this file in place of its own figures, which it repeats but for `score`.
const FOLDERS = [
  ["how-to/", 6],
  ["reference/functions/", -20],
  ["explanation/assumptions", -20],
  ["lessons/", -4],
];

var Scorer = {
  score: ([page, , , , score, , kind]) => {
    // A function that is called just so is looked for by its name.
    if (kind === "object" && page.startsWith("reference/functions/")) return score - 3;
    const more = FOLDERS.find(([folder]) => page.startsWith(folder));
    return score + (more ? more[1] : 0);
  },
  objNameMatch: 11,
  objPartialMatch: 6,
  objPrio: { 0: 15, 1: 5, 2: -5 },
  objPrioDefault: 0,
  title: 15,
  partialTitle: 7,
  term: 5,
  partialTerm: 2,
};
