// Narrows the page and its menu to what contains every word that is typed.
const form = document.getElementById('search');
const field = document.getElementById('find');
const count = document.getElementById('found');
const entries = [...document.querySelectorAll('article')].map(article => ({
  article,
  link: document.querySelector(`nav a[href="#${article.id}"]`),
  words: article.textContent.toLowerCase(),
}));
const groups = [...document.querySelectorAll('nav li ul')].map(list => list.parentElement);

function narrow() {
  const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
  let found = 0;
  for (const { article, link, words: text } of entries) {
    const shown = words.every(word => text.includes(word));
    article.hidden = !shown;
    if (link) link.parentElement.hidden = !shown;
    if (shown) found++;
  }
  for (const group of groups) group.hidden = !group.querySelector('ul > li:not([hidden])');
  count.textContent = words.length ? `${found} found` : '';
}

form.hidden = false;
form.addEventListener('submit', event => event.preventDefault());
field.addEventListener('input', narrow);
// A link to an entry that the search hides shows all again.
window.addEventListener('hashchange', () => {
  const target = document.getElementById(location.hash.slice(1));
  if (!target?.hidden) return;
  field.value = '';
  narrow();
  target.scrollIntoView();
});
