// Brings a part of the page into sight: the top after another screen was opened, or a part that a
// link names by its title ("#to=..."), unfolded where it is folded away.
(() => {
  const title = (link) => decodeURIComponent(link.getAttribute("href").slice(4));
  const bring = (event) => {
    const link = event.target.closest && event.target.closest('a[href^="#to="]');
    if (!link) return;
    event.preventDefault();
    const wanted = title(link);
    const main = document.querySelector('[data-testid="stMain"]');
    const parts = [...main.querySelectorAll("summary, h2, h3")];
    const named = (each) => each.innerText.trim() === wanted;
    const part = parts.find((each) => named(each) || [...each.querySelectorAll("p")].some(named));
    if (!part) return;
    if (part.tagName === "SUMMARY" && !part.parentElement.open) part.click();
    part.scrollIntoView({ block: "start" });
    if (part.tagName === "SUMMARY") part.focus();
  };
  if (!window.partLinks) {
    window.partLinks = true;
    document.addEventListener("click", bring);
  }
})();
