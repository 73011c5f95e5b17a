"use strict";
(() => {
  addEventListener("beforeprint", () => {
    for (const each of document.querySelectorAll("details")) each.open = true;
  });
})();
