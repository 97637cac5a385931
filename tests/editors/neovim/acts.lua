-- The acts of ../acts.json in Neovim. Run by ../run.

local PATIENCE_MS = 60000
local acts = vim.json.decode(table.concat(vim.fn.readfile(assert(vim.env.ACTS)), '\n'))

local function until_true(what, predicate)
  assert(vim.wait(PATIENCE_MS, predicate, 10), 'waited in vain until ' .. what)
end

local function starts(text, with)
  return text:sub(1, #with) == with
end

-- Puts the cursor on a word of the only line that begins so.
local function go_to(begins, word)
  for number, line in ipairs(vim.api.nvim_buf_get_lines(0, 0, -1, true)) do
    if starts(line, begins) then
      vim.api.nvim_win_set_cursor(0, { number, (line:find(word or begins, 1, true)) })
      return number
    end
  end
  error('no line begins with ' .. begins)
end

local function found(rule, buffer)
  return vim.iter(vim.diagnostic.get(buffer)):find(function(each)
    return each.code == rule
  end)
end

local function reads_findings()
  for _, rule in ipairs(acts.found) do
    until_true(rule .. ' is found', function()
      return found(rule, 0)
    end)
  end
  local number = go_to(acts.finding.line)
  local finding = found(acts.finding.rule, 0)
  assert(finding.lnum == number - 1 and finding.source == 'guywire', vim.inspect(finding))
  assert(finding.message:find(acts.finding.says, 1, true), finding.message)
end

-- The text of the one window that floats, if any.
local function floating()
  for _, window in ipairs(vim.api.nvim_list_wins()) do
    if vim.api.nvim_win_get_config(window).relative ~= '' then
      local lines = vim.api.nvim_buf_get_lines(vim.api.nvim_win_get_buf(window), 0, -1, true)
      return table.concat(lines, '\n'), window
    end
  end
end

local function hovers()
  go_to(acts.hover.line)
  vim.lsp.buf.hover()
  until_true('a hover floats', floating)
  local text, window = floating()
  for _, says in ipairs(acts.hover.says) do
    assert(text:find(says, 1, true), text)
  end
  vim.api.nvim_win_close(window, true)
end

-- Types in the line of the finding, has the editor ask for what comes next, and undoes it.
local function completes()
  local number = go_to(acts.complete.line)
  vim.fn.setline(number, acts.complete.typed)
  vim.api.nvim_win_set_cursor(0, { number, 0 })
  local offered
  vim.keymap.set('i', '<F9>', function()
    until_true('something is offered', function()
      return #vim.fn.complete_info({ 'items' }).items > 0
    end)
    offered = vim.fn.complete_info({ 'items' }).items
  end)
  vim.api.nvim_feedkeys(vim.keycode('A<C-x><C-o><F9><C-e><Esc>'), 'tx', false)
  local words = vim.tbl_map(function(item)
    return item.abbr
  end, offered)
  assert(vim.tbl_contains(words, acts.complete.offered), 'offered: ' .. vim.inspect(words))
  vim.fn.setline(number, acts.complete.line)
end

local function renames()
  go_to(acts.rename.line, acts.rename.word)
  vim.lsp.buf.rename(acts.rename.to)
  for file, line in pairs(acts.rename.written) do
    until_true(line .. ' is in ' .. file, function()
      local buffer = vim.fn.bufnr(vim.fs.joinpath(vim.env.PLANS, file))
      return buffer > 0 and vim.tbl_contains(vim.api.nvim_buf_get_lines(buffer, 0, -1, true), line)
    end)
  end
  assert(vim.fn.search('\\V\\^' .. acts.rename.line .. '\\$', 'nw') == 0, 'a use kept its name')
end

local function takes_fix()
  local number = go_to(acts.finding.line, '"')
  vim.lsp.buf.code_action({
    apply = true,
    filter = function(action)
      return action.kind == 'quickfix' and starts(action.title, acts.fix.title)
    end,
  })
  until_true('the line is mended', function()
    return vim.fn.getline(number) == acts.fix.line
  end)
end

local function sees_it_gone()
  until_true('the finding is gone', function()
    return not found(acts.finding.rule, 0)
  end)
  assert(found(acts.found[1], 0), 'another finding went with it')
end

-- The page of who hears whom comes up, with the text as it is here.
local function shows_audience()
  local plan = vim.api.nvim_get_current_buf()
  vim.cmd.GuywireAudience()
  until_true('the page is shown', function()
    return vim.api.nvim_buf_get_lines(0, 0, 1, false)[1] == '# Who hears whom: ' .. acts.file
  end)
  local row = '|' .. acts.audience.sent .. ' '
  local rows = vim.iter(vim.api.nvim_buf_get_lines(0, 0, -1, true)):filter(function(line)
    return starts(line, row)
  end)
  assert(#rows:totable() == 1, 'no row of ' .. acts.audience.sent)
  vim.api.nvim_set_current_buf(plan)
end

local function test()
  vim.cmd.edit(vim.fs.joinpath(assert(vim.env.PLANS), acts.file))
  reads_findings()
  hovers()
  completes()
  renames()
  takes_fix()
  sees_it_gone()
  shows_audience()
end

local ok, message = xpcall(test, debug.traceback)
io.stdout:write(ok and 'passed\n' or message .. '\n')
vim.cmd.cquit({ count = ok and 0 or 1, bang = true })
