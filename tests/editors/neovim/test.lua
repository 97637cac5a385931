-- A mistake typed into the demo, found, and mended by the fix on offer. Run by ../run inside Neovim.

local PATIENCE_MS = 60000

local function until_true(what, predicate)
  assert(vim.wait(PATIENCE_MS, predicate, 10), 'waited in vain until ' .. what)
end

-- The first plan with a channel that calls something, the number of that line, and what it calls.
local function find_call(folder)
  local plans = vim.fn.globpath(folder, '**/*.plan.toml', true, true)
  table.sort(plans)
  for _, path in ipairs(plans) do
    for number, line in ipairs(vim.fn.readfile(path)) do
      local called = line:match('^call%s*=%s*"([^"]+)"')
      if called then
        return path, number, called
      end
    end
  end
  error('no plan in ' .. folder .. ' has a channel with a call')
end

-- How often the server has told of each address.
local function count_tellings()
  local told = {}
  local handler = vim.lsp.handlers['textDocument/publishDiagnostics']
  vim.lsp.handlers['textDocument/publishDiagnostics'] = function(err, result, context)
    handler(err, result, context)
    told[result.uri] = (told[result.uri] or 0) + 1
  end
  return told
end

local function messages(buffer)
  return vim.tbl_map(function(found)
    return ('%d:%d %s: %s'):format(found.lnum + 1, found.col + 1, tostring(found.code), found.message)
  end, vim.diagnostic.get(buffer))
end

local function expect_sound(buffer)
  assert(#vim.diagnostic.get(buffer) == 0, 'findings in a sound plan:\n' .. table.concat(messages(buffer), '\n'))
end

local function undefined(buffer)
  return vim.iter(vim.diagnostic.get(buffer)):find(function(found)
    return found.code == 'undefined-name'
  end)
end

-- Puts another name between the quotes of the line, as a person would.
local function type_name(number, name)
  vim.api.nvim_win_set_cursor(0, { number, 0 })
  vim.api.nvim_feedkeys(vim.keycode('f"ci"' .. name .. '<Esc>'), 'tx', false)
end

local function check_place(buffer, number, name)
  local found = undefined(buffer)
  assert(found.source == 'guywire', 'source: ' .. tostring(found.source))
  assert(found.lnum == number - 1 and found.end_lnum == number - 1, vim.inspect(found))
  local marked = vim.api.nvim_buf_get_text(buffer, found.lnum, found.col, found.end_lnum, found.end_col, {})[1]
  assert(marked == name or marked == '"' .. name .. '"', 'the finding marks ' .. marked)
  assert(found.message:find(name, 1, true), 'the message does not name it: ' .. found.message)
end

local function take_fix(number, name)
  vim.api.nvim_win_set_cursor(0, { number, (vim.api.nvim_get_current_line():find('"')) })
  vim.lsp.buf.code_action({
    apply = true,
    filter = function(action)
      return action.kind == 'quickfix' and action.title:find(name, 1, true) ~= nil
    end,
  })
end

local function test()
  local told = count_tellings()
  local path, number, called = find_call(assert(vim.env.PLANS, 'PLANS names the folder with the plans'))
  vim.cmd.edit(vim.fn.fnameescape(path))
  local buffer = vim.api.nvim_get_current_buf()
  local uri = vim.uri_from_bufnr(buffer)
  assert(vim.bo.filetype == 'toml.guywire', 'file type: ' .. vim.bo.filetype)

  until_true('the server is attached', function()
    return #vim.lsp.get_clients({ bufnr = buffer, name = 'guywire' }) == 1
  end)
  local client = vim.lsp.get_clients({ bufnr = buffer })[1]
  until_true('the server tells of the file', function()
    return told[uri]
  end)
  assert(client.offset_encoding == 'utf-8', client.offset_encoding)
  expect_sound(buffer)
  for _, command in ipairs({ 'GuywireAudience', 'GuywireCompare' }) do
    assert(vim.fn.exists(':' .. command) == 2, command)
  end
  local before = vim.api.nvim_buf_get_lines(buffer, 0, -1, true)

  local wrong = called .. 'x'
  type_name(number, wrong)
  assert(vim.api.nvim_get_current_line():find('"' .. wrong .. '"', 1, true), vim.api.nvim_get_current_line())
  until_true('undefined-name is found', function()
    return undefined(buffer)
  end)
  check_place(buffer, number, wrong)

  take_fix(number, called)
  until_true('the buffer is as before', function()
    return vim.deep_equal(vim.api.nvim_buf_get_lines(buffer, 0, -1, true), before)
  end)
  until_true('the findings are gone', function()
    return #vim.diagnostic.get(buffer) == 0
  end)

  local gone
  vim.api.nvim_create_autocmd('LspDetach', { callback = function() gone = true end })
  client:stop()
  until_true('the server has ended', function()
    return gone and client:is_stopped()
  end)
  local said = vim.fn.execute('messages')
  assert(not said:find('quit with exit code', 1, true), said)
end

local ok, message = xpcall(test, debug.traceback)
io.stdout:write(ok and 'passed\n' or message .. '\n')
vim.cmd.cquit({ count = ok and 0 or 1, bang = true })
