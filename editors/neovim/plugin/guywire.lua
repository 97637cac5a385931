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
