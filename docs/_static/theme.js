// Light, dark or as the device is: the theme keeps the choice on <body>, the shop's colours hang on <html>.
(() => {
  const { documentElement: root, body } = document;
  const follow = () => {
    const chosen = body.dataset.theme;
    if (chosen === "light" || chosen === "dark") root.dataset.theme = chosen;
    else delete root.dataset.theme;
  };
  let kept = null;
  try {
    kept = localStorage.getItem("theme");
  } catch {
    // a browser that keeps nothing shows what the device asks for
  }
  body.dataset.theme = kept || "auto";
  follow();
  new MutationObserver(follow).observe(body, { attributeFilter: ["data-theme"] });
  // From a folder on a disk there is no shop to go back to.
  document.addEventListener("DOMContentLoaded", () => {
    if (location.pathname.startsWith("/docs/")) document.querySelector(".to-shop").hidden = false;
  });
})();
