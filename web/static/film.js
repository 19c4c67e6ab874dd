// Plays the movement of a figure, picture by picture, where motion is welcome.
"use strict";
addEventListener("DOMContentLoaded", () => {
  const place = document.getElementById("figure"), button = document.getElementById("play");
  if (!place || !button) return;
  const still = place.innerHTML, label = button.textContent, perPicture = 90;
  let pictures = null, running = 0;
  button.hidden = false;
  const stop = () => { cancelAnimationFrame(running); running = 0; button.textContent = label; place.innerHTML = still; };
  button.addEventListener("click", async () => {
    if (running) return stop();
    if (!pictures) {
      const answer = await fetch(place.dataset.film, { headers: { Accept: "application/json" } });
      if (!answer.ok) return;
      const parser = new DOMParser();
      pictures = (await answer.json()).map((text) => document.importNode(parser.parseFromString(text, "image/svg+xml").documentElement, true));
    }
    button.textContent = button.dataset.stop;
    const begin = performance.now();
    let shown = -1;
    const draw = (now) => {
      const at = Math.floor((now - begin) / perPicture) % pictures.length;
      if (at !== shown) { place.replaceChildren(pictures[at]); shown = at; }
      running = requestAnimationFrame(draw);
    };
    running = requestAnimationFrame(draw);
  });
});
