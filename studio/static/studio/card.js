// A card's link carries its token after the #, which the browser keeps to itself.
// It is posted only here, and wiped from the address at once.
const token = location.hash.slice(1);
if (token) {
  history.replaceState(null, "", location.pathname);
  const form = document.getElementById("card");
  const asked = new FormData(form);
  asked.set("token", token);
  const answer = await fetch(form.dataset.whose, { method: "POST", body: asked });
  const { name, fault } = await answer.json();
  if (name) {
    form.token.value = token;
    document.getElementById("by-code").hidden = true;
    const button = document.getElementById("go");
    button.textContent = `Sign in as ${name}`;
    button.focus();
  } else {
    const line = document.createElement("p");
    line.className = "fault";
    line.textContent = fault;
    document.getElementById("fault").replaceChildren(line);
  }
}
