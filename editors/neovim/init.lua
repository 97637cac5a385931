-- guywire: for init.lua, Neovim 0.11 or newer. The program `guywire` has to be on the PATH.
local patterns = {}
for _, kind in ipairs({ 'plan', 'model', 'regime', 'bench', 'field' }) do
  patterns['.*%.' .. kind .. '%.toml'] = 'toml.guywire'
end
vim.filetype.add({ filename = { ['guywire.toml'] = 'toml.guywire' }, pattern = patterns })

vim.lsp.config('guywire', {
  cmd = { 'guywire', 'serve' },
  filetypes = { 'toml.guywire' },
  root_markers = { 'guywire.toml', '.git' },
})
vim.lsp.enable('guywire')

-- Neovim underlines a finding; this writes what is wrong below the line that the cursor is on.
vim.diagnostic.config({ virtual_lines = { current_line = true } })

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
