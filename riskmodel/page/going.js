// Brings a part of the page into sight: the top after another screen was opened, or a part that a
// link names by its title ("#to=..."), unfolded where it is folded away. And for the keyboard,
// before all else: the ways past the panel of figures, of which the page's style shows one.
((skips) => {
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
  const past = (text, wanted) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = text;
    button.addEventListener("click", () => {
      const part = document.querySelector(wanted);
      if (!part) return;
      part.tabIndex = -1;
      part.scrollIntoView({ block: "start" });
      part.focus({ preventScroll: true });
    });
    return button;
  };
  if (!window.partLinks) {
    window.partLinks = true;
    document.addEventListener("click", bring);
    const ways = document.createElement("nav");
    ways.className = "skips";
    ways.setAttribute("aria-label", skips.name);
    ways.append(
      past(skips.verdict, ".verdict, .stop"),
      past(skips.page, '[data-testid="stMain"] h1'),
    );
    document.body.prepend(ways);
  }
})(SKIPS);
