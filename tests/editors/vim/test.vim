" The acts of ../acts.json in Vim with ALE. Run by ../run.

let s:patience_s = 60
let s:acts = json_decode(join(readfile($ACTS), "\n"))

function! s:Until(what, Holds) abort
  let l:start = reltime()
  while !a:Holds()
    if reltimefloat(reltime(l:start)) > s:patience_s
      throw 'waited in vain until ' . a:what
    endif
    " Lets the editor work: messages of the server and timers.
    sleep 10m
  endwhile
endfunction

function! s:GoTo(begins, word) abort
  call cursor(1, 1)
  if !search('\V\^' . escape(a:begins, '\'), 'cW')
    throw 'no line begins with ' . a:begins
  endif
  call search('\V' . escape(a:word, '\'), 'cW', line('.'))
endfunction

function! s:Found(rule) abort
  return filter(copy(ale#engine#GetLoclist(bufnr(''))), {_, found -> get(found, 'code', '') is# a:rule})
endfunction

function! s:ReadsFindings() abort
  for l:rule in s:acts.found
    call s:Until(l:rule . ' is found', {-> !empty(s:Found(l:rule))})
  endfor
  call s:GoTo(s:acts.finding.line, s:acts.finding.line)
  let l:found = s:Found(s:acts.finding.rule)[0]
  if l:found.lnum != line('.') || stridx(l:found.text, s:acts.finding.says) < 0
    throw 'another finding: ' . string(l:found)
  endif
endfunction

function! s:Preview() abort
  let l:windows = filter(range(1, winnr('$')), {_, number -> getwinvar(number, '&previewwindow')})
  return empty(l:windows) ? '' : join(getbufline(winbufnr(l:windows[0]), 1, '$'), "\n")
endfunction

function! s:Hovers() abort
  call s:GoTo(s:acts.hover.line, s:acts.hover.line)
  ALEHover
  call s:Until('the hover is shown', {-> !empty(s:Preview())})
  for l:says in s:acts.hover.says
    if stridx(s:Preview(), l:says) < 0
      throw 'no ' . l:says . ' in: ' . s:Preview()
    endif
  endfor
  pclose
endfunction

" Types in the line of the finding, has ALE ask for what comes next, and undoes it.
function! s:Completes() abort
  call s:GoTo(s:acts.complete.line, s:acts.complete.line)
  call setline('.', s:acts.complete.typed)
  " A person is in Insert mode, behind what is typed; a script is not.
  runtime autoload/ale/util.vim
  function! ale#util#Mode(...) abort
    return 'i'
  endfunction
  let l:offered = []
  call ale#completion#GetCompletions('ale-callback', {
    \ 'line': line('.'),
    \ 'column': col('$'),
    \ 'callback': {items -> extend(l:offered, items)},
    \ })
  call s:Until('something is offered', {-> !empty(l:offered)})
  let l:words = map(copy(l:offered), 'v:val.word')
  if empty(filter(copy(l:words), {_, word -> stridx(word, s:acts.complete.offered) >= 0}))
    throw 'offered: ' . string(l:words)
  endif
  call setline('.', s:acts.complete.line)
endfunction

function! s:Written(file, line) abort
  return index(readfile($PLANS . '/' . a:file), a:line) >= 0
endfunction

function! s:Renames() abort
  " ALE asks for the name; here it is given.
  runtime autoload/ale/util.vim
  function! ale#util#Input(...) abort
    return s:acts.rename.to
  endfunction
  " ALE goes from file to file, in an order of its own: it leaves none that is not saved.
  silent write
  call s:GoTo(s:acts.rename.line, s:acts.rename.word)
  ALERename
  for [l:file, l:line] in items(s:acts.rename.written)
    call s:Until(l:line . ' is in ' . l:file, {-> s:Written(l:file, l:line)})
  endfor
  if s:Written(s:acts.file, s:acts.rename.line)
    throw 'a use kept its name'
  endif
endfunction

" ALE asks with a menu; its answer is given here.
function! s:Choose(data, items) abort
  for [l:kind, l:item] in a:items
    if stridx(l:item.title, s:acts.fix.title) == 0
      return ale#codefix#ApplyLSPCodeAction(a:data, l:item)
    endif
  endfor
  throw 'the fix is not among ' . string(map(copy(a:items), 'v:val[1].title'))
endfunction

function! s:TakesFix() abort
  call s:GoTo(s:acts.finding.line, '"')
  call ale#codefix#Execute(0, function('s:Choose'))
  call s:Until('the line is mended', {-> getline('.') is# s:acts.fix.line})
  " Vim itself tells of a change only between commands that are typed.
  doautocmd TextChanged
endfunction

function! s:SeesItGone() abort
  call s:Until('the finding is gone', {-> empty(s:Found(s:acts.finding.rule))})
  if empty(s:Found(s:acts.found[0]))
    throw 'another finding went with it'
  endif
endfunction

function! s:Test() abort
  execute 'edit' fnameescape($PLANS . '/' . s:acts.file)
  if &filetype isnot# 'toml.guywire'
    throw 'file type: ' . &filetype
  endif
  call s:ReadsFindings()
  call s:Hovers()
  call s:Completes()
  call s:Renames()
  call s:TakesFix()
  call s:SeesItGone()
endfunction

let s:said = 'passed'
try
  call s:Test()
catch
  let s:said = v:exception . "\n" . v:throwpoint
endtry
call writefile(split(s:said, "\n"), $SAID)
execute s:said is# 'passed' ? 'qall!' : 'cquit!'
