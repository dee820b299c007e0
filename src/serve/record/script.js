
// --- record -----------------------------------------------------------------------------------------------------------------
(() => {
  // A finding that has a value is not noted without it.
  document.addEventListener("change", (event) => {
    const select = event.target.closest?.('.record select[name="finding"]');
    if (select) select.form.elements.namedItem("value").required = "value" in select.selectedOptions[0].dataset;
  });
})();
