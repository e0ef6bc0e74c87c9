// The languages there are, each by the name that its speakers give it.

import { _ } from "./texts.js";

export const languages = () => ({ en: _("English"), de: _("Deutsch") });
