// A checkout form: the fields come from the style's form, and what the customer types is checked at once. The page
// holds a publishable key, which can check but not order; the order goes to the shop's own server.
const settings = await (await fetch('settings')).json();
const form = document.querySelector('form');

async function tapeline(path, body) {
  const answer = await fetch(settings.api + path, {
    method: body ? 'POST' : 'GET',
    headers: { Authorization: `Bearer ${settings.key}`, 'Content-Type': 'application/json' },
    body: body && JSON.stringify(body),
  });
  return answer.json();
}

function element(name, properties, ...children) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...children);
  return made;
}

// Makes the control for one property of the schema.
function control(name, schema) {
  const options = schema.oneOf?.filter((option) => 'const' in option);
  if (schema.type === 'boolean') return element('input', { name, type: 'checkbox', checked: schema.default });
  if (options?.length === schema.oneOf?.length && options) {
    return element('select', { name }, ...options.map((option) =>
      element('option', { value: option.const, selected: option.const === schema.default }, option.title)));
  }
  if (options) return element('input', { name, type: 'text', value: schema.default }); // a word or a length
  return element('input', { name, type: 'number', step: 'any', min: schema.minimum, max: schema.maximum,
    value: schema.default ?? '' });
}

function field(name, schema) {
  const unit = schema['x-unit'] ? ` (${schema['x-unit']})` : '';
  form.append(element('label', {}, schema.title + unit, element('small', {}, control(name, schema))),
    element('small', {}, schema.description ?? ''), element('output', { name: `${name} says` }));
}

const schema = await tapeline(`/v1/styles/${settings.style}/form?unit=${settings.unit}`);
document.querySelector('h1').textContent = schema.title;
field('fit', schema.properties.fit);
for (const group of ['choices', 'measurements']) {
  for (const [name, property] of Object.entries(schema.properties[group].properties)) field(`${group}/${name}`, property);
}
form.append(element('p', {}, element('button', {}, 'Order')));

// Returns what the customer has filled in, as the fields of an order.
function filled() {
  const order = { fit: form.elements.fit.value, choices: {}, measurements: {} };
  for (const input of form.querySelectorAll('input, select')) {
    const [group, name] = input.name.split('/');
    if (!name || input.value === '') continue;
    const number = Number(input.value);
    order[group][name] = input.type === 'checkbox' ? input.checked : Number.isNaN(number) ? input.value : number;
  }
  return order;
}

// Shows each finding beside its field. What the choices require is required of the browser's form too.
async function check() {
  const { measurements, choices } = filled();
  const report = await tapeline('/v1/measurements/assess',
    { unit: settings.unit, style: settings.style, measurements, choices });
  for (const output of form.querySelectorAll('output')) output.value = '';
  for (const input of form.querySelectorAll('[name^="measurements/"]')) input.required = false;
  for (const { pointer, code, detail } of report.findings ?? report.errors ?? []) {
    const input = form.elements[pointer.slice(2)];
    if (input && code === 'missing') input.required = true;
    else if (input) form.elements[`${pointer.slice(2)} says`].value = detail;
  }
}

let timer;
form.addEventListener('input', () => { clearTimeout(timer); timer = setTimeout(check, 250); });
form.addEventListener('submit', async (event) => {
  event.preventDefault();
  const answer = await fetch('order', { method: 'POST', body: JSON.stringify(filled()) });
  document.getElementById('placed').textContent = await answer.text();
});
