(() => {
  const form = document.getElementById("filter");
  if (form) {
    const calls = [...document.querySelectorAll(".call")];
    const steps = [...document.querySelectorAll(".step")];
    const show = () => {
      const work = form.elements.which.value === "work";
      const step = form.elements.step.value;
      for (const call of calls) call.hidden = work && call.dataset.work !== "yes";
      for (const each of steps) {
        const empty = !each.querySelector(".call:not([hidden])");
        each.hidden = empty || (step !== "" && each.dataset.step !== step);
      }
      const shown = calls.filter((call) => !call.hidden && !call.closest(".step").hidden).length;
      document.getElementById("shown").textContent = `${shown} of ${calls.length} calls are shown.`;
    };
    form.hidden = false;
    form.addEventListener("change", show);
    form.addEventListener("submit", (event) => event.preventDefault());
    addEventListener("hashchange", () => {
      const wanted = document.getElementById(location.hash.slice(1));
      if (wanted && wanted.closest("[hidden]")) {
        form.reset();
        show();
        wanted.scrollIntoView();
      }
    });
    form.reset();
    show();
  }
})();
