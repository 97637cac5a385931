;;; guywire.el --- Radio channel plans in Emacs, by eglot  -*- lexical-binding: t -*-

;; Emacs 29 brings eglot; for Emacs 28, the package eglot. The program `guywire' has to be on the PATH.

(require 'conf-mode)

(defgroup guywire nil "Checks radio channel plans." :group 'tools)

(defcustom guywire-command "guywire"
  "The program: a name on the PATH, or where it is."
  :type 'string)

;;;###autoload
(define-derived-mode guywire-mode conf-toml-mode "Plan"
  "Major mode for radio channel plans and what belongs to them.")

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.\\(?:plan\\|model\\|regime\\|bench\\|field\\)\\.toml\\'" . guywire-mode))
;;;###autoload
(add-to-list 'auto-mode-alist '("/guywire\\.toml\\'" . guywire-mode))

(defun guywire--contact (&rest _)
  "How to start the server."
  (list guywire-command "serve"))

(defvar eglot-server-programs)
(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs '(guywire-mode . guywire--contact)))

;; The workspace is the folder with guywire.toml; without one, what `project' takes it for.
(defun guywire--project (folder)
  "The workspace that FOLDER belongs to, as a project."
  (when-let ((root (locate-dominating-file folder "guywire.toml")))
    (cons 'guywire (expand-file-name root))))

(cl-defmethod project-root ((project (head guywire)))
  "The folder with guywire.toml of PROJECT."
  (cdr project))

(defun guywire--begin ()
  "Starts the server for this buffer."
  (add-hook 'project-find-functions #'guywire--project nil t)
  (eglot-ensure))

(add-hook 'guywire-mode-hook #'guywire--begin)

(provide 'guywire)
;;; guywire.el ends here
