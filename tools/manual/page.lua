-- SPDX-License-Identifier: Apache-2.0
-- Turns a chapter of the manual into a man page, for pandoc: the first heading, "chalkfold-job(5)", gives title and section; the others go up
-- a level, the sections in capitals as man pages have them; a link to another chapter becomes its name in bold; a table's columns get the width
-- of what they hold, or tbl would break their text.

local function heading(header)
  if header.level == 1 then
    return {}
  end
  header.level = header.level - 1
  if header.level == 1 then
    header = header:walk({
      Str = function(word) return pandoc.Str(pandoc.text.upper(word.text)) end,
    })
  end
  return header
end

local function link(l)
  if l.target:match('%.md$') then
    return pandoc.Strong(l.content)
  end
end

-- pandoc writes a width of 1 as 70 characters.
local function fitted(tbl)
  local simple = pandoc.utils.to_simple_table(tbl)
  local function widen(row)
    for i, cell in ipairs(row) do
      local length = pandoc.text.len(pandoc.utils.stringify(cell))
      simple.widths[i] = math.max(simple.widths[i], length / 70)
    end
  end
  widen(simple.headers)
  for _, row in ipairs(simple.rows) do
    widen(row)
  end
  return pandoc.utils.from_simple_table(simple)
end

return {
  {
    Pandoc = function(doc)
      for _, block in ipairs(doc.blocks) do
        if block.t == 'Header' and block.level == 1 then
          local title, section = pandoc.utils.stringify(block):match('^(%S+)%((%d)%)$')
          assert(title, 'the first heading must be like chalkfold-job(5)')
          doc.meta.title = title
          doc.meta.section = section
          return doc
        end
      end
      error('no first heading')
    end,
  },
  { Header = heading, Link = link, Table = fitted },
}
