// What the page can't do without a script: figures beside sliders that move.
"use strict";
document.addEventListener("input", (event) => {
  const slider = event.target;
  if (slider.type !== "range") return;
  const output = slider.parentElement.querySelector("output");
  if (!output) return;
  const unit = output.textContent.trim().split(" ").pop();
  const decimals = slider.step.includes(".") ? 2 : 0;
  output.textContent = Number(slider.value).toFixed(decimals).replace("-", "\u2212") + " " + unit;
});
