-- +goose Up
alter table operations add column layout integer not null default 1;

-- +goose Down
alter table operations drop column layout;
