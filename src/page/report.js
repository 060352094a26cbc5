// The report: its figure runs over the steps that are stored in this file.
"use strict";

(() => {
  const stored = JSON.parse(document.getElementById("stored").textContent);
  const figure = makeFigure(document.getElementById("draw"));
  figure.show(stored.figure);
  figure.steps(stored.steps);
  figure.follow(stored.loop);
  figure.beside(stored.beside);
})();
