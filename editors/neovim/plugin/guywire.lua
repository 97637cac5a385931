if vim.fn.has('nvim-0.11') == 0 then
  vim.notify('guywire needs Neovim 0.11 or newer', vim.log.levels.WARN)
  return
end

-- `toml` brings colors and indenting; the second name keeps servers for TOML at large away from plans.
local patterns = {}
for _, kind in ipairs({ 'plan', 'model', 'regime', 'bench', 'field' }) do
  patterns['.*%.' .. kind .. '%.toml'] = 'toml.guywire'
end
vim.filetype.add({ filename = { ['guywire.toml'] = 'toml.guywire' }, pattern = patterns })

vim.lsp.enable('guywire')

-- Pages of the server: who hears whom in this plan, and what changed on the air since a revision (or between two).
local function page(command, ...)
  local client = vim.lsp.get_clients({ name = 'guywire', bufnr = 0 })[1]
  if not client then
    return vim.notify('guywire does not run in this buffer', vim.log.levels.WARN)
  end
  local arguments = { vim.uri_from_bufnr(0), ... }
  client:request('workspace/executeCommand', { command = command, arguments = arguments }, function(refused)
    if refused then
      vim.notify(refused.message, vim.log.levels.ERROR)
    end
  end)
end
vim.api.nvim_create_user_command('GuywireAudience', function()
  page('guywire.audience')
end, {})
vim.api.nvim_create_user_command('GuywireCompare', function(typed)
  page('guywire.compare', typed.fargs[1] or 'HEAD', typed.fargs[2])
end, { nargs = '*' })
