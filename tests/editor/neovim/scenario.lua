-- An old client at work: Neovim asks for no findings, no semantic tokens and no inlay hints. What a person does in it
-- (open, read findings, hover, fix, format, rename) is done through the functions that their keys are bound to.
--
-- Runs within `nvim --headless -u CONFIG`, where CONFIG is the README's own set-up. DETENT_RESULTS names the file for
-- what came of it; the working folder holds bench.detent and daily.detent.

local results = {}

local function test(name, body)
  local start = vim.loop.hrtime()
  local ok, message = xpcall(body, debug.traceback)
  local entry = { name = name, state = ok and 'passed' or 'failed', durationMs = (vim.loop.hrtime() - start) / 1e6 }
  if not ok then entry.message = tostring(message) end
  table.insert(results, entry)
end

local function eventually(what, read)
  local value
  vim.wait(15000, function()
    value = read()
    return value ~= nil and value ~= false
  end, 20)
  if value == nil or value == false then error(what .. ' did not come', 2) end
  return value
end

local function equal(actual, expected)
  if not vim.deep_equal(actual, expected) then
    error('expected ' .. vim.inspect(expected) .. '\nbut got ' .. vim.inspect(actual), 2)
  end
end

local function text()
  return table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), '\n')
end

-- Puts the cursor on the first place where a piece of text stands.
local function go_to(piece)
  for row, line in ipairs(vim.api.nvim_buf_get_lines(0, 0, -1, false)) do
    local from = line:find(piece, 1, true)
    if from then
      vim.api.nvim_win_set_cursor(0, { row, from - 1 })
      return
    end
  end
  error(piece .. ' is not in the text', 2)
end

local function codes()
  local found = {}
  for _, one in ipairs(vim.diagnostic.get(0)) do
    -- Old versions keep the code with what the server said.
    local code = one.code or one.user_data and one.user_data.lsp and one.user_data.lsp.code
    table.insert(found, code)
  end
  table.sort(found)
  return found
end

local function has_codes(expected)
  eventually('findings ' .. vim.inspect(expected) .. ' in place of ' .. vim.inspect(codes()), function()
    return vim.deep_equal(codes(), expected)
  end)
end

-- The window that floats over the others, or nothing.
local function floating_window()
  for _, window in ipairs(vim.api.nvim_list_wins()) do
    if vim.api.nvim_win_get_config(window).relative ~= '' then return window end
  end
end

local function format()
  if vim.lsp.buf.format then vim.lsp.buf.format({ timeout_ms = 5000 }) else vim.lsp.buf.formatting_sync(nil, 5000) end
end

test('open: the server starts and attaches', function()
  vim.cmd('edit daily.detent')
  equal(vim.bo.filetype, 'detent')
  eventually('the server', function()
    local client = vim.lsp.buf_get_clients(0)[1]
    return client and client.initialized
  end)
end)

test('findings: are sent, since this client asks for none, and follow what is typed', function()
  local client = vim.lsp.buf_get_clients(0)[1]
  equal(client.server_capabilities.diagnosticProvider, nil)
  has_codes({ 'steps-gap' })
  local gap = vim.diagnostic.get(0)[1]
  equal(vim.api.nvim_buf_get_lines(0, gap.lnum, gap.lnum + 1, false)[1]:match('1 to 2 cores'), '1 to 2 cores')
  local row = vim.fn.search('52 x') - 1
  vim.api.nvim_buf_set_text(0, row, 0, row, 0, { 'µΩ ' })
  eventually('another finding', function() return not vim.deep_equal(codes(), { 'steps-gap' }) end)
  vim.cmd('undo')
  has_codes({ 'steps-gap' })
end)

-- Hovers over a piece of text; gives what is shown and closes it again.
local function hover(piece)
  go_to(piece)
  vim.lsp.buf.hover()
  local window = eventually('the hover', floating_window)
  local shown = table.concat(vim.api.nvim_buf_get_lines(vim.api.nvim_win_get_buf(window), 0, -1, false), '\n')
  vim.api.nvim_win_close(window, true)
  return shown
end

test('hover: tells of a part in another file', function()
  local shown = hover('rig-one')
  assert(shown:find('8 cores', 1, true), shown)
  assert(not shown:find('<%a'), 'no HTML: ' .. shown)
end)

test('fix: closes the gap', function()
  go_to('1 to 2 cores')
  local offered
  vim.ui.select = function(items, options, choose)
    offered = vim.tbl_map(options.format_item, items)
    for index, title in ipairs(offered) do
      if title:find('Let 48x hold for 3 to 8 cores', 1, true) then return choose(items[index], index) end
    end
    choose(nil)
  end
  vim.lsp.buf.code_action()
  eventually('the fix', function() return text():find('3 to 8 cores', 1, true) end)
  assert(#offered >= 2, vim.inspect(offered))
  has_codes({})
end)

test('format: gives what the command gives', function()
  assert(text():find('  1 to 2 cores 52 x', 1, true), text())
  format()
  local formatted = text() .. '\n'
  equal(vim.fn.system({ 'detent', 'format', '-' }, formatted), formatted)
  assert(formatted:find('\n    1 to 2 cores   52x\n', 1, true), formatted)
  has_codes({})
end)

test('hover: shows the clock that the command predicts, in a table of at most four columns', function()
  vim.cmd('silent write')
  local output = vim.fn.json_decode(vim.fn.system({ 'detent', 'predict', '--output', 'json', 'daily.detent' }))
  -- Numbers and units are kept on one line by no-break spaces.
  local shown = hover('3 to 8 cores'):gsub('\194\160', ' ')
  local compared = 0
  for _, one in ipairs(output.predictions) do
    if one.load == 'all-cores' then
      local clock = string.format('| %.2f GHz ', one.clock_mhz / 1000)
      local die = string.format('| %.1f °C, ', one.die_c)
      local found = false
      for _, row in ipairs(vim.split(shown, '\n')) do
        found = found or (row:find(clock, 1, true) ~= nil and row:find(die, 1, true) ~= nil)
      end
      assert(found, clock .. 'and ' .. die .. 'are not in one row of ' .. shown)
      compared = compared + 1
    end
  end
  equal(compared, 2)
  for _, row in ipairs(vim.split(shown, '\n')) do
    local _, borders = row:gsub('|', '')
    assert(borders <= 5, row)
  end
end)

test('rename: reaches the file that defines the name', function()
  go_to('rig-one')
  vim.lsp.buf.rename('rig-two')
  eventually('the new name', function() return text():find('  part rig-two', 1, true) end)
  vim.cmd('silent wall')
  local written = table.concat(vim.fn.readfile('bench.detent'), '\n')
  assert(written:find('part rig-two {', 1, true), written)
  assert(not written:find('rig-one', 1, true), written)
  has_codes({})
end)

vim.fn.writefile({ vim.fn.json_encode(results) }, vim.env.DETENT_RESULTS)
vim.cmd('qall!')
